"""Dispatch by apparent tardiness cost with setups, then decoded under the contract's rules.

Whenever a printer falls free, the waiting job with the highest index is taken:

    weight / stay · exp(−slack / (due_look · mean stay)) · exp(−setup / (setup_look · mean setup))

(Lee, Bhaskaran and Pinedo 1997, "A heuristic to minimize the total weighted tardiness with
sequence-dependent setups", IIE Transactions 29). Setups are the minutes of spool and purge that the
material last mounted asks for. The order that comes of it is decoded as in `tests.bench.dispatch`:
each job goes to the end of the row of the machine on which it is done soonest.
"""

from __future__ import annotations

import heapq
import math
from datetime import datetime

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

#: Look-ahead for dues and for setups: least sum of late hours (14,371; plain earliest due 16,857) on
#: S11-14 and M11-12 of 0.3, 1, 2, 4 with 0.3, 1, 5.
DUE_LOOK, SETUP_LOOK = 1.0, 5.0


def order_by_index(task: Task, due_look: float, setup_look: float) -> list[int]:
    """Jobs as they would be taken."""
    P = task.problem
    shop = Shop(P, eased_state(task), P.horizon)

    def stay(j: int, p: int) -> int:
        cell = P.j_recipe[j] * P.printer_kinds + P.p_kind[p]
        attended = P.plate_min + P.start_min + P.unload_min
        return attended + shop.preheat(j, p) + print_minutes(P, j, p) + P.k_cool_min[cell]

    def setup(j: int, last: int) -> int:
        first = P.j_material[2 * j]
        if first == last:
            return 0
        return P.spool_swap_min + (P.purge_min[last * P.materials + first] if last >= 0 else 0)

    fits = [set(P.fit_printer[P.fit_off[f] : P.fit_off[f + 1]]) for f in P.j_fit]
    waiting = {j for j in range(P.jobs) if fits[j] and shop.S.printer[j] < 0}
    all_stays = [stay(j, p) for j in waiting for p in fits[j]]
    mean_stay = max(1.0, sum(all_stays) / max(1, len(all_stays)))
    mean_setup = max(1.0, P.spool_swap_min + sum(P.purge_min) / max(1, len(P.purge_min)))
    free = [(shop.floor[p], p) for p in range(P.printers)]
    heapq.heapify(free)
    last = [P.h_material[P.p_head_off[p]] for p in range(P.printers)]
    taken: list[int] = []
    while waiting and free:
        now, p = heapq.heappop(free)
        here = [j for j in waiting if p in fits[j]]
        ready = [j for j in here if P.j_release[j] <= now]
        if not ready:
            if here:
                heapq.heappush(free, (min(P.j_release[j] for j in here), p))
            continue

        def index(j: int, now: int = now, p: int = p) -> tuple[float, int]:
            slack = max(0, P.j_due[j] - P.j_finish[j] - stay(j, p) - now) if P.j_due[j] < NEVER else NEVER
            late = -slack / (due_look * mean_stay) - setup(j, last[p]) / (setup_look * mean_setup)
            return math.log(max(1e-9, P.j_weight[j]) / stay(j, p)) + late, -j

        best = max(ready, key=index)
        heapq.heappush(free, (now + setup(best, last[p]) + stay(best, p), p))
        last[p] = P.j_material[2 * best]
        waiting.remove(best)
        taken.append(best)
    return taken + sorted(waiting)


def by_tardiness_cost(
    scenario: Scenario,
    scenario_hash: str,
    made_at: datetime,
    due_look: float = DUE_LOOK,
    setup_look: float = SETUP_LOOK,
) -> Plan:
    """The plan of a shop that takes the job whose waiting costs most."""
    task = make_task(scenario)
    base, P = Base(task), task.problem
    engine = Engine(base, compiled_kernels(), 1, 1)
    order = order_by_index(task, due_look, setup_look)
    rest = sorted(set(range(P.jobs)) - set(order))
    state = engine.place_in_order([*order, *rest], SOONEST, gaps=False)
    return finish(base, state).plan(scenario_hash, made_at, 0.0, 0, None)
