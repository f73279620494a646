"""A general constraint solver on the machines, the people and the dues; its order decoded under all rules.

What the model says: each job has one fitting printer and there the shortest stay that the printer can do;
changeover, first layer and unload within staffed hours and never more of them than hands; prints of
machines that need somebody within one shift; downtime, work under way, releases, pins, soonest dry spool.
What it leaves out: spools, dryers, ovens, setups and chamber temperatures by the job before. So it is a
relaxation, no complete model of the contract: what the solver proves holds for every plan, and its order of
starts is decoded as in `tests.bench.dispatch`. Needs the extra ``bench``.
"""

from __future__ import annotations

from datetime import datetime
from itertools import pairwise

import numpy as np
from ortools.sat.python import cp_model

from scheduler.model import Plan, Scenario
from scheduler.planning.bound.prices import Prices
from scheduler.planning.bound.stays import Marks
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.construct import Base, finish
from scheduler.planning.engine import Engine
from scheduler.planning.kernel.heat import print_minutes
from scheduler.planning.kernel.tables import NEVER
from scheduler.planning.problem import make_task
from tests.bench.dispatch import SOONEST

#: Weights of jobs are whole multiples of 1 / SCALE.
SCALE = 100
WORKERS = 2


def domain(marks: Marks) -> cp_model.Domain:
    """The marked minutes."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], marks.astype(int), [0]))))
    return cp_model.Domain.from_intervals([[int(a), int(b) - 1] for a, b in edges.reshape(-1, 2)])


def by_solver(scenario: Scenario, scenario_hash: str, made_at: datetime, seconds: float) -> Plan:
    """The plan that the solver's order gives; its bound is the solver's."""
    task = make_task(scenario)
    base, P = Base(task), task.problem
    prices = Prices(base)
    shop, model = prices.shop, cp_model.CpModel()
    last = P.left_out_at
    staffed = {length: shop.people(length) for length in (P.plate_min, P.start_min, P.unload_min)}
    on: dict[int, list[cp_model.IntervalVar]] = {p: [] for p in range(P.printers)}
    attended, cost, starts = [], [], {}
    for j in prices.offers.jobs:
        spool_at, fit = shop.spool_at(j), P.j_fit[j]
        start = model.new_int_var_from_domain(domain(staffed[P.plate_min]), f"start {j}")
        begin = model.new_int_var_from_domain(domain(staffed[P.start_min]), f"begin {j}")
        unload = model.new_int_var_from_domain(domain(staffed[P.unload_min]), f"unload {j}")
        out = model.new_bool_var(f"out {j}")
        here = [out]
        for p in P.fit_printer[P.fit_off[fit] : P.fit_off[fit + 1]]:
            pre, cell = shop.preheat(j, p), P.j_recipe[j] * P.printer_kinds + P.p_kind[p]
            after = P.start_min + print_minutes(P, j, p) + P.k_cool_min[cell]
            good = staffed[P.start_min] & shop.runs(p, pre, after)
            if P.p_unattended[p] == 0:
                t = np.arange(shop.minutes)
                good &= shop.stretch_end[np.clip(t - pre, 0, shop.minutes - 1)] >= t + after
            if not good.any():
                continue
            chosen = model.new_bool_var(f"{j} on {p}")
            size = model.new_int_var(0, last, f"stay {j} {p}")
            on[p].append(
                model.new_optional_interval_var(start, size, unload + P.unload_min, chosen, f"{j} {p}")
            )
            model.add_linear_expression_in_domain(begin, domain(good)).only_enforce_if(chosen)
            model.add(start >= max(shop.floor[p], P.j_release[j], spool_at)).only_enforce_if(chosen)
            model.add(begin >= start + P.plate_min + pre).only_enforce_if(chosen)
            model.add(unload >= begin + after).only_enforce_if(chosen)
            here.append(chosen)
        pin = scenario.jobs[j].pinned
        if pin is not None:
            printed = scenario.site.minute(pin.print_start)
            model.add(begin == printed - P.start_min).only_enforce_if(out.negated())
        model.add_exactly_one(here)
        for at, length, name in (
            (start, P.plate_min, "c"),
            (begin, P.start_min, "s"),
            (unload, P.unload_min, "u"),
        ):
            attended.append(
                model.new_optional_fixed_size_interval_var(at, length, out.negated(), f"{name} {j}")
            )
        starts[j] = (start, out)
        if P.j_due[j] < NEVER and P.j_weight[j] > 0:
            late = model.new_int_var(0, max(0, 2 * last - P.j_due[j]), f"late {j}")
            tail = P.j_finish[j] + (P.an_min[P.j_anneal[j]] if P.j_anneal[j] >= 0 else 0)
            model.add(late >= unload + P.unload_min + tail - P.j_due[j]).only_enforce_if(out.negated())
            model.add(late >= max(0, last - P.j_due[j])).only_enforce_if(out)
            cost.append(int(P.j_weight[j] * SCALE) * late)
    for intervals in on.values():
        model.add_no_overlap(intervals)
    hands = np.array(task.people.hands[: P.horizon])
    most = int(hands.max(initial=1))
    edges = [0, *(np.flatnonzero(np.diff(hands)) + 1).tolist(), P.horizon]
    fewer = [(a, b, most - int(hands[a])) for a, b in pairwise(edges) if 0 < hands[a] < most]
    model.add_cumulative(
        [*attended, *(model.new_fixed_size_interval_var(a, b - a, f"fewer {a}") for a, b, _ in fewer)],
        [1] * len(attended) + [less for _, _, less in fewer],
        most,
    )
    model.minimize(sum(cost))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = WORKERS
    found = solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    bound = (prices.fixed + max(0.0, solver.best_objective_bound) / SCALE) / 60
    engine = Engine(base, compiled_kernels(), 1, 1)
    by_due = sorted(range(P.jobs), key=lambda j: (P.j_due[j], j))
    if found:
        at = {j: (solver.boolean_value(out), solver.value(start)) for j, (start, out) in starts.items()}
        by_due.sort(key=lambda j: at.get(j, (True, last)))
    state = engine.place_in_order(by_due, SOONEST, gaps=False)
    return finish(base, state).plan(scenario_hash, made_at, seconds, 0, bound)
