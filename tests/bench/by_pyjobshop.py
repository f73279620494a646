"""What a general modelling library for machine scheduling reaches: PyJobShop on what it can say of the shop.

Each job is one stay on one of its printers (a mode each), as short as the printer allows and longer while it
waits for somebody; changeover and unload take a pair of hands at the stay's two ends, in staffed hours only.
Between two jobs of different materials lie the minutes of purge and spool. Printers are free from when
begun work ends, apart from their downtime; weights, releases and dues are the scenario's.

What the library has no words for is left out: spools and dryers (but for the soonest minute at which
any fitting spool is dry), ovens' slots, chambers, nozzles, the watched first layer, printers that may not run
alone, pins, lots. So its solution is an order of starts, decoded under all rules as in
`tests.bench.dispatch`. It proves nothing about the contract. Needs the extra ``bench``.
"""

from __future__ import annotations

from datetime import datetime
from itertools import pairwise

import numpy as np
from pyjobshop import Model

from scheduler.model import Plan, Scenario
from scheduler.planning.bound.alone import eased_state
from scheduler.planning.bound.stays import Shop
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.construct import Base, finish
from scheduler.planning.engine import Engine
from scheduler.planning.kernel.heat import print_minutes
from scheduler.planning.kernel.tables import NEVER
from scheduler.planning.problem import Task, make_task
from tests.bench.dispatch import SOONEST

#: Weights of jobs are whole multiples of 1 / SCALE.
SCALE = 10
WORKERS = 2


def order_of_starts(task: Task, seconds: float) -> list[int] | None:
    """Jobs by the starts of the library's best solution; ``None`` if it finds none in time."""
    P = task.problem
    shop, model = Shop(P, eased_state(task), P.horizon), Model()
    printers = [model.add_machine(breaks=_stops(task, shop.floor[p], p)) for p in range(P.printers)]
    free = np.array(task.people.hands[: P.horizon])
    most = int(free.max(initial=1))
    edges = [0, *(np.flatnonzero(np.diff(free)) + 1).tolist(), P.horizon]
    stretches = [(a, b, int(free[a])) for a, b in pairwise(edges) if b > a]
    nights = [(a, b) for a, b, there in stretches if there <= 0]
    hands = model.add_renewable(most, breaks=[*nights, (P.horizon, P.left_out_at)])
    for a, b, there in stretches:
        if 0 < there < most:
            fewer = model.add_task(earliest_start=a, latest_start=a)
            model.add_mode(fewer, hands, b - a, most - there)
    of: dict[int, object] = {}
    on: dict[int, list[int]] = {p: [] for p in range(P.printers)}
    tasks, numbers = {}, []
    for j in range(P.jobs):
        fits = P.fit_printer[P.fit_off[P.j_fit[j]] : P.fit_off[P.j_fit[j] + 1]]
        if shop.S.printer[j] >= 0 or len(fits) == 0 or shop.spool_at(j) >= NEVER:
            continue
        after = P.j_finish[j] + (P.an_min[P.j_anneal[j]] if P.j_anneal[j] >= 0 else 0)
        due = max(0, P.j_due[j] - after)
        weight = round(SCALE * P.j_weight[j])
        of[j] = job = model.add_job(weight, max(0, P.j_release[j], shop.spool_at(j)), due_date=due)
        stay = tasks[j] = model.add_task(job, allow_idle=True)
        change, unload = model.add_task(job), model.add_task(job)
        numbers.append(j)
        for p in fits:
            cell = P.j_recipe[j] * P.printer_kinds + P.p_kind[p]
            hot = shop.preheat(j, p) + P.start_min + print_minutes(P, j, p) + P.k_cool_min[cell]
            model.add_mode(stay, printers[p], P.plate_min + hot + P.unload_min)
            on[p].append(j)
        model.add_mode(change, hands, P.plate_min, 1)
        model.add_mode(unload, hands, P.unload_min, 1)
        model.add_start_at_start(stay, change)
        model.add_end_at_end(stay, unload)
    for p, jobs in on.items():
        for i in jobs:
            for j in jobs:
                first, then = P.j_material[2 * i], P.j_material[2 * j]
                if first != then:
                    minutes = P.spool_swap_min + P.purge_min[first * P.materials + then]
                    model.add_setup_time(printers[p], tasks[i], tasks[j], minutes)
    model.set_objective(weight_total_tardiness=1)
    found = model.solve(time_limit=seconds, display=False, num_workers=WORKERS)
    if not found.best.tasks:
        return None
    starts = {j: found.best.tasks[model.tasks.index(tasks[j])].start for j in numbers}
    rest = [j for j in range(P.jobs) if j not in starts]
    return sorted(starts, key=lambda j: (starts[j], P.j_due[j], j)) + rest


def _stops(task: Task, floor: int, p: int) -> list[tuple[int, int]]:
    """Minutes at which a printer takes no job: before it is free, and its downtime, one after the other."""
    P = task.problem
    lo, hi = P.p_down_off[p], P.p_down_off[p + 1]
    stops = [(0, floor)] if floor > 0 else []
    for start, end in sorted(zip(P.down_start[lo:hi], P.down_end[lo:hi], strict=True)):
        start = max(start, stops[-1][1] if stops else 0)
        if end > start:
            stops.append((start, end))
    return stops


def by_pyjobshop(scenario: Scenario, scenario_hash: str, made_at: datetime, seconds: float) -> Plan | None:
    """The plan that the library's order gives; ``None`` if it found none in time."""
    task = make_task(scenario)
    order = order_of_starts(task, seconds)
    if order is None:
        return None
    base = Base(task)
    state = Engine(base, compiled_kernels(), 1, 1).place_in_order(order, SOONEST, gaps=False)
    return finish(base, state).plan(scenario_hash, made_at, seconds, 0, None)
