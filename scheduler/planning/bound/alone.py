"""How late each job is even with the shop to itself."""

from __future__ import annotations

from scheduler.planning.begun import Begun
from scheduler.planning.compiled import Kernels, compiled_kernels, is_built, pool_of
from scheduler.planning.construct import Base
from scheduler.planning.kernel.alone import done_after, soonest_done
from scheduler.planning.kernel.heat import print_minutes
from scheduler.planning.kernel.tables import NEVER, State
from scheduler.planning.problem import Task
from scheduler.planning.state import empty_state

#: Jobs times printers up to which Python alone works the bound out.
SMALL = 25_000
#: More hands than begun jobs could ever want at once.
EASE = 1_000_000


def late_alone(base: Base, kernels: Kernels | None) -> list[float]:
    """For each job, the weighted late minutes that it has even with the shop to itself from the plan's start.

    True for every valid plan: no job is done sooner than `soonest_done` says, work under way
    no sooner than it was placed, a pinned job no sooner than its pin allows. Zero for a job
    that fits no machine.
    """
    if base.alone is None:
        base.alone = _late_alone(base, kernels)
    return base.alone


def _late_alone(base: Base, kernels: Kernels | None) -> list[float]:
    P = base.task.problem
    S = eased_state(base.task)
    pool = pool_of(P, S) if kernels is not None else None
    late = []
    pins = done_as_pinned(base.task)
    for j in range(P.jobs):
        if S.printer[j] >= 0:
            done = min(S.done[j], done_after(P, j, S.printer[j], max(0, S.cool_end[j])))
        elif P.fit_off[P.j_fit[j]] == P.fit_off[P.j_fit[j] + 1]:
            # Not counted, even if its due date is past.
            late.append(0.0)
            continue
        elif j in pins:
            done = pins[j]
        elif kernels is not None and pool is not None:
            done = kernels.soonest_done(pool.whole, pool.real, j)
        else:
            done = soonest_done(P, S, j)
        late.append(P.j_weight[j] * max(0, min(done, P.left_out_at) - P.j_due[j]))
    return late


def eased_state(task: Task) -> State:
    """A plan with only the work under way in it, as if nobody were ever short of hands.

    So each begun job ends as soon as it could, whichever of them people turn to first.
    """
    state = empty_state(task.problem, [EASE if hands > 0 else 0 for hands in task.people.hands])
    Begun(task, state).put_all()
    return state


def done_as_pinned(task: Task) -> dict[int, int]:
    """For each pinned job not begun, by number, the soonest minute at which it could be done if it stands.

    One that does not fit its printer, or would have begun, can't stand; then `NEVER`.
    """
    P, names = task.problem, task.names
    out = {}
    for job in task.scenario.jobs:
        if job.pinned is None or job.progress is not None:
            continue
        j, p, fit = names.jobs[job.id], names.printers[job.pinned.printer], P.j_fit[names.jobs[job.id]]
        out[j] = NEVER
        start = task.scenario.site.minute(job.pinned.print_start)
        if start >= 0 and p in P.fit_printer[P.fit_off[fit] : P.fit_off[fit + 1]]:
            printed = start + print_minutes(P, j, p)
            cool = P.k_cool_min[P.j_recipe[j] * P.printer_kinds + P.p_kind[p]]
            out[j] = done_after(P, j, p, printed + cool)
    return out


def bound_alone(task: Task, base: Base) -> float | None:
    """Weighted late hours if every job had the shop to itself; ``None`` if it would take too long here."""
    small = task.problem.jobs * task.problem.printers <= SMALL
    if not small and not is_built():
        return None
    return sum(late_alone(base, None if small else compiled_kernels())) / 60.0
