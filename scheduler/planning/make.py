"""The planner's front door."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from scheduler.model import Plan, Scenario
from scheduler.planning.construct import Base, Taste, construct, finish
from scheduler.planning.kernel.tables import NEVER, State
from scheduler.planning.problem import Task, make_task
from scheduler.planning.result import Cost, cost_of


@dataclass(frozen=True)
class Progress:
    """How far the planner is.

    ``late_cost`` is that of the best plan so far, in late hours; ``None`` before there is one.
    """

    seconds: float
    placed: int
    jobs: int
    late_cost: float | None
    doing: str


def latest_starts(task: Task) -> list[float]:
    """For each job, the minute by which its print should begin on its quickest printer."""
    P = task.problem
    out = []
    for j in range(P.jobs):
        due = P.j_due[j]
        if due >= NEVER:
            due = P.horizon
        anneal = P.an_min[P.j_anneal[j]] if P.j_anneal[j] >= 0 else 0
        out.append(float(due - P.j_finish[j] - anneal - P.j_print[j]))
    return out


def orders(task: Task, seed: int) -> list[tuple[list[int], Taste]]:
    """Orders worth building a plan from, each with its way to choose."""
    P = task.problem
    latest = latest_starts(task)

    def by(kappa: float) -> list[int]:
        return sorted(range(P.jobs), key=lambda j: (latest[j] - kappa * P.j_weight[j], j))

    return [
        (by(240.0), Taste()),
        (by(0.0), Taste()),
        (by(600.0), Taste(crowd=0.1)),
        (by(240.0), Taste(crowd=0.3)),
    ]


def make_plan(
    scenario: Scenario,
    *,
    scenario_hash: str,
    made_at: datetime,
    seconds: float = 0.0,
    seed: int = 1,
    previous: Plan | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    timer: Callable[[], float] = time.monotonic,
) -> Plan:
    """Plan a scenario.

    Parameters
    ----------
    scenario_hash : str
        Written into the plan, so that it names what it is for.
    seconds : float
        Time to spend on more than the first plan, as ``timer`` counts it.
    previous : Plan or None
        A published plan that this one replaces: what is about to begin stays, moves cost.
    on_progress : callable or None
        Told now and then how far the work is.

    Returns
    -------
    Plan
        A plan that keeps every rule of the contract.
    """
    began = timer()
    keep = {planned.job: planned.printer for planned in previous.jobs} if previous is not None else None
    task = make_task(scenario, keep=keep)
    base = Base(task, previous)
    best: State | None = None
    best_cost: Cost | None = None
    said = began

    def tell(placed: int, doing: str) -> None:
        nonlocal said
        now = timer()
        if on_progress is not None and (now - said > 0.2 or placed == 0):
            said = now
            on_progress(
                Progress(
                    now - began,
                    placed,
                    task.problem.jobs,
                    None if best_cost is None else round(best_cost.late_hours, 3),
                    doing,
                )
            )

    def keep_better(state: State | None) -> bool:
        nonlocal best, best_cost
        if state is None:
            return False
        cost = cost_of(task, state)
        move = scenario.site.move_cost_h
        if best_cost is None or cost.value(move) < best_cost.value(move):
            best, best_cost = state, cost
            return True
        return False

    def out_of_time(placed: int) -> bool:
        tell(placed, "placing jobs in order" if best is None else "trying another order")
        return best is not None and timer() - began >= seconds

    tried = orders(task, seed)
    tell(0, "placing jobs in order")
    for order, taste in tried:
        if best is None or timer() - began < seconds:
            keep_better(construct(base, order, taste, out_of_time))
    squeak(base, tried[0][0], seed, keep_better, lambda: best, out_of_time, lambda: timer() - began < seconds)
    assert best is not None
    draft = finish(base, best)
    return draft.plan(scenario_hash, made_at, timer() - began, seed)


def squeak(
    base: Base,
    order: list[int],
    seed: int,
    keep_better: Callable[[State | None], bool],
    best: Callable[[], State | None],
    stop: Callable[[int], bool],
    more: Callable[[], bool],
) -> None:
    """Build again and again, late jobs moved forward in the order, and keep what is better."""
    rng = random.Random(seed)
    P = base.task.problem
    latest = latest_starts(base.task)
    credit = [0.0] * P.jobs
    while more():
        state = best()
        if state is None:
            return
        trial = list(credit)
        for j in range(P.jobs):
            late = 0
            if P.j_due[j] < NEVER:
                late = (state.done[j] if state.printer[j] >= 0 else P.horizon) - P.j_due[j]
            if late > 0:
                trial[j] += rng.uniform(0.0, 1.5) * late * min(3.0, P.j_weight[j])
            trial[j] += rng.gauss(0.0, 90.0)
        built = sorted(range(P.jobs), key=lambda j: (latest[j] - 240.0 * P.j_weight[j] - trial[j], j))
        taste = Taste(crowd=rng.choice((0.0, 0.02, 0.1, 0.3)), idle=rng.choice((0.0, 0.01, 0.05)))
        if keep_better(construct(base, built, taste, stop)):
            credit = trial
