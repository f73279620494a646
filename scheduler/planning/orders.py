"""Orders worth building a plan from."""

from __future__ import annotations

import random
from collections.abc import Callable

from scheduler.planning.construct import Base, Taste, construct
from scheduler.planning.kernel.tables import NEVER, State
from scheduler.planning.problem import Task

#: Jobs beyond which one order alone is tried.
HUGE = 5_000


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


def orders(task: Task) -> list[tuple[list[int], Taste]]:
    """By latest start, weights pulling a job forward more or less, each with its way to choose."""
    P = task.problem
    latest = latest_starts(task)

    def by(kappa: float) -> list[int]:
        return sorted(range(P.jobs), key=lambda j: (latest[j] - kappa * P.j_weight[j], j))

    if P.jobs > HUGE:
        # The soonest machine wins, and heavy jobs go well before their turn;
        # in a first pass gaps are better left to the search.
        return [(by(600.0), Taste(finish=1.0, crowd=0.0, idle=0.0, most=36, gaps=False))]
    return [
        (by(240.0), Taste()),
        (by(0.0), Taste()),
        (by(600.0), Taste(crowd=0.1)),
        (by(240.0), Taste(crowd=0.3)),
    ]


def reorder(
    base: Base,
    seed: int,
    keep_better: Callable[[State | None], bool],
    best: Callable[[], State | None],
    stop: Callable[[int], bool],
    more: Callable[[], bool],
) -> None:
    """Build again and again, late jobs moved forward in the order, and keep what is better.

    What can be done before the compiled search is there.
    """
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
