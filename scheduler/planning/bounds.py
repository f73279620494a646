"""What no plan's lateness can go under."""

from __future__ import annotations

from scheduler.planning.compiled import compiled_kernels, is_built, pool_of
from scheduler.planning.construct import Base
from scheduler.planning.kernel.alone import soonest_done
from scheduler.planning.problem import Task

#: Jobs times printers up to which Python alone works the bound out.
SMALL = 25_000


def bound_alone(task: Task, base: Base) -> float | None:
    """Weighted late hours if every job had the shop to itself from the plan's start.

    True for every valid plan: each job is done no sooner than `soonest_done` says, work under way
    no sooner than it was placed. ``None`` if it would take too long here.
    """
    P = task.problem
    S = base.begun_state()
    pool = None
    if P.jobs * P.printers > SMALL:
        if not is_built():
            return None
        kernels, pool = compiled_kernels(), pool_of(P, S)
    late = 0.0
    for j in range(P.jobs):
        if S.printer[j] >= 0:
            done = S.done[j]
        elif P.fit_off[P.j_fit[j]] == P.fit_off[P.j_fit[j] + 1]:
            continue
        elif pool is not None:
            done = kernels.soonest_done(pool.whole, pool.real, j)
        else:
            done = soonest_done(P, S, j)
        late += P.j_weight[j] * max(0, min(done, P.left_out_at) - P.j_due[j])
    return late / 60.0
