"""The last word on jobs that found no place: look everywhere, then say why."""

from __future__ import annotations

from scheduler.model import Job, Reason, Unplaced
from scheduler.planning.kernel.chain import first_from
from scheduler.planning.kernel.choose import least_on, lot_asked, next_change
from scheduler.planning.kernel.place import commit
from scheduler.planning.kernel.tables import NEVER, State
from scheduler.planning.kernel.timing import time_job
from scheduler.planning.pins import Held
from scheduler.planning.problem import Task


def usable_spools(task: Task, S: State, j: int, f: int) -> list[int]:
    """Spools with enough left, of the lot to which the job is bound, for one feed."""
    P, ref = task.problem, 2 * j + f
    lot = lot_asked(P, S, j) if f == 0 else -1
    return [
        s
        for s in P.cand[P.cand_lo[ref] : P.cand_hi[ref]]
        if S.left_g[s] + 1e-9 >= P.j_grams[ref] and lot != -2 and (lot < 0 or P.s_lot[s] == lot)
    ]


def place_anywhere(task: Task, S: State, j: int) -> bool:
    """Try every printer, gap, head, nozzle and spool for a job; True if one took it."""
    P = task.problem
    fit = P.j_fit[j]
    first = usable_spools(task, S, j, 0)
    second = usable_spools(task, S, j, 1) if P.j_feeds[j] == 2 else [-1]
    if not first or not second:
        return False
    for i in range(P.fit_off[fit], P.fit_off[fit + 1]):
        p = P.fit_printer[i]
        least = least_on(P, S, j, p)
        prev, after = -1, S.first[p]
        while True:
            since = max(0, P.j_release[j], P.p_free[p], S.unload_end[prev] if prev >= 0 else 0)
            room = (S.change_end[after] if after >= 0 else P.horizon) - since
            if room >= least and (after < 0 or S.fixed[after] < 2):
                ways = P.fit_ways[i]
                for way in range(P.way_off[ways], P.way_off[ways + 1]):
                    for s0 in first:
                        for s1 in second:
                            if s0 != s1 and _try(task, S, j, p, way, s0, s1, prev, after, since):
                                return True
            if after < 0:
                break
            prev, after = after, S.after[after]
    return False


def _try(
    task: Task, S: State, j: int, p: int, way: int, s0: int, s1: int, prev: int, after: int, since: int
) -> bool:
    P = task.problem
    limit = NEVER
    if after >= 0:
        limit = S.change_end[after] - next_change(P, S, j, p, way, s0, s1, after)
    # Between each two uses of its spools there may be room.
    cuts = {limit}
    for s in (s0, s1):
        if s >= 0:
            base = P.chain_off[s]
            cuts |= {c for c in S.chain_start[base : base + S.chain_n[s]] if since < c < limit}
    for cut in sorted(cuts):
        at0 = first_from(P, S, s0, cut)
        at1 = first_from(P, S, s1, cut) if s1 >= 0 else 0
        if time_job(P, S, j, p, way, s0, s1, at0, at1, prev, cut, -1) and commit(
            P, S, j, p, way, s0, s1, prev
        ):
            return True
    return False


def place_left_over(task: Task, S: State, held: dict[str, Held]) -> None:
    """Give every unplaced job that something fits a last chance, until nothing changes."""
    P = task.problem
    left = [
        j
        for j, job in enumerate(task.scenario.jobs)
        if S.printer[j] < 0 and job.id not in held and P.fit_off[P.j_fit[j]] < P.fit_off[P.j_fit[j] + 1]
    ]
    changed = True
    while changed and left:
        changed = False
        for j in list(left):
            if place_anywhere(task, S, j):
                left.remove(j)
                changed = True


def unplaced_reasons(task: Task, S: State, held: dict[str, Held]) -> tuple[Unplaced, ...]:
    """Why each job without a place has none."""
    out = []
    for j, job in enumerate(task.scenario.jobs):
        if S.printer[j] >= 0:
            continue
        if not task.matcher.fits_something(job.id):
            out.append(Unplaced(job.id, task.matcher.verdict(job.id).reasons))
        elif job.id in held:
            out.append(Unplaced(job.id, (held[job.id].reason(job),)))
        else:
            out.append(Unplaced(job.id, (_stock_or_horizon(task, S, j, job),)))
    return tuple(out)


def _stock_or_horizon(task: Task, S: State, j: int, job: Job) -> Reason:
    P = task.problem
    for f, feed in enumerate(job.feeds):
        if not usable_spools(task, S, j, f):
            ref = 2 * j + f
            lot = lot_asked(P, S, j) if f == 0 else -1
            there = max(
                (
                    S.left_g[s]
                    for s in P.cand[P.cand_lo[ref] : P.cand_hi[ref]]
                    if lot < 0 or P.s_lot[s] == lot
                ),
                default=0.0,
            )
            of_lot = f" of lot {_lot_name(task, lot)}" if lot >= 0 else ""
            asked = f"{feed.grams:g} g of {feed.material}{of_lot} on one spool asked for"
            text = f"{asked}, {there:g} g left at most"
            return Reason("stock", None, None, None, feed.grams, round(there, 6), text)
    if len(job.feeds) == 2 and usable_spools(task, S, j, 0) == usable_spools(task, S, j, 1):
        if len(usable_spools(task, S, j, 0)) == 1:
            text = "two spools asked for, one left that has enough"
            return Reason("stock", None, None, None, 2, 1, text)
    end = max(shift.end for shift in task.scenario.shifts).isoformat(timespec="minutes")
    text = f"no place is left for it before the last shift ends ({end})"
    return Reason("horizon", None, None, None, None, end, text)


def _lot_name(task: Task, lot: int) -> str:
    return next(name for name, number in task.names.lots.items() if number == lot)
