"""What need not wait doesn't: unloads and anneals as soon as hands and ovens allow, all else where it is."""

from __future__ import annotations

from scheduler.planning.kernel.bake import close_run, find_anneal, open_run
from scheduler.planning.kernel.chain import chain_holds
from scheduler.planning.kernel.hands import attended_after, give, take
from scheduler.planning.kernel.place import count_job
from scheduler.planning.kernel.seat import set_unload
from scheduler.planning.kernel.tables import FREE, Problem, State
from scheduler.planning.kernel.timing import BAKE

#: One step that goes ahead may make room for another.
PASSES = 3


def hasten(P: Problem, S: State) -> None:
    """Let unloads and anneals of jobs that may move begin as soon as they can, others' minutes unchanged.

    The search puts them off to leave their minutes to others (`Tuning.leave`); not all of these are taken.
    """
    jobs = [j for j in range(P.jobs) if S.printer[j] >= 0 and S.fixed[j] == FREE]
    for _ in range(PASSES):
        changed = False
        for j in sorted(jobs, key=lambda j: (S.cool_end[j], j)):
            changed |= _unload(P, S, j)
            changed |= _anneal(P, S, j)
        if not changed:
            break


def _unload(P: Problem, S: State, j: int) -> bool:
    old, p = S.unload[j], S.printer[j]
    if old <= S.cool_end[j]:
        return False
    give(S, old, P.unload_min)
    at = attended_after(P, S, p, S.cool_end[j], P.unload_min)
    if not 0 <= at < old:
        take(S, old, P.unload_min)
        return False
    set_unload(P, S, j, at)
    if not all(chain_holds(P, S, S.spool[2 * j + f]) for f in range(P.j_feeds[j])):
        # Out in the room's air sooner, a spool would take up too much water for its next job.
        set_unload(P, S, j, old)
        take(S, old, P.unload_min)
        return False
    take(S, at, P.unload_min)
    return True


def _anneal(P: Problem, S: State, j: int) -> bool:
    run = S.oven_run[j]
    if run < 0 or S.run_begun[run] or S.run_n[run] != 1 or S.run_start[run] <= S.unload_end[j]:
        return False
    was = S.run_end[run]
    count_job(P, S, j, -1)
    S.run_n[run] = 0
    close_run(P, S, run)
    # Where it was there is still room, so one is found.
    find_anneal(P, S, P.j_anneal[j], S.unload_end[j], BAKE)
    run, machine, start, end = S.t[BAKE : BAKE + 4]
    if run < 0:
        run = open_run(P, S, machine, 1, start, end, P.an_temp_c[P.j_anneal[j]], 0)
    S.run_n[run] += 1
    S.oven_run[j] = run
    S.done[j] = end + P.j_finish[j]
    count_job(P, S, j, 1)
    return end < was
