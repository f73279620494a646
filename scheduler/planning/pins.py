"""Jobs held to a printer and a print start: placed first, in the order of their ids, or not at all."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.model import Job, Reason
from scheduler.planning.kernel.chain import first_from
from scheduler.planning.kernel.choose import next_change
from scheduler.planning.kernel.hands import is_free, stop_overlap
from scheduler.planning.kernel.heat import print_minutes
from scheduler.planning.kernel.place import commit
from scheduler.planning.kernel.spools import lot_asked
from scheduler.planning.kernel.tables import NEVER, STAYS, State
from scheduler.planning.kernel.timing import time_job
from scheduler.planning.problem import Task


@dataclass(frozen=True)
class Held:
    """What keeps a pinned job out: the rule, and who or what holds it."""

    rule: str
    text: str

    def reason(self, job: Job) -> Reason:
        """As a reason of an unplaced job."""
        assert job.pinned is not None
        asked = job.pinned.print_start.isoformat()
        return Reason("pinned", job.pinned.printer, None, None, asked, None, f"{self.rule}: {self.text}")


def put_pinned(task: Task, state: State) -> dict[str, Held]:
    """Place every pinned job that can be; what keeps the others out, by id."""
    out: dict[str, Held] = {}
    pinned = [job for job in task.scenario.jobs if job.pinned is not None and job.progress is None]
    for job in sorted(pinned, key=lambda job: job.id):
        if not task.matcher.fits_something(job.id):
            continue
        if state.printer[task.names.jobs[job.id]] >= 0:
            state.fixed[task.names.jobs[job.id]] = STAYS
            continue
        held = put_one(task, state, job)
        if held is not None:
            out[job.id] = held
    return out


def put_one(task: Task, S: State, job: Job) -> Held | None:
    """Place one pinned job; ``None`` if it stands."""
    assert job.pinned is not None
    P, names = task.problem, task.names
    j, p = names.jobs[job.id], names.printers[job.pinned.printer]
    begin = task.scenario.site.minute(job.pinned.print_start) - P.start_min
    fit = P.j_fit[j]
    if begin < 0:
        return Held("not before", f"its first layer would begin at {_clock(task, begin)}")
    spots = [i for i in range(P.fit_off[fit], P.fit_off[fit + 1]) if P.fit_printer[i] == p]
    if not spots:
        failed = task.matcher.failures(job.id, job.pinned.printer)
        return Held("printer", "; ".join(reason.text for reason in failed))
    prev, after = -1, S.first[p]
    while after >= 0 and S.begin[after] <= begin:
        prev, after = after, S.after[after]
    for way in range(P.way_off[P.fit_ways[spots[0]]], P.way_off[P.fit_ways[spots[0]] + 1]):
        for s0 in _spools(task, S, j, 0):
            for s1 in _spools(task, S, j, 1) if P.j_feeds[j] == 2 else [-1]:
                if s0 != s1 and _try(task, S, j, p, way, s0, s1, prev, after, begin):
                    S.fixed[j] = STAYS
                    return None
    return _diagnose(task, S, j, p, begin, prev, after)


def _spools(task: Task, S: State, j: int, f: int) -> list[int]:
    P = task.problem
    ref = 2 * j + f
    lot = lot_asked(P, S, j) if f == 0 else -1
    if lot == -2:
        return []
    return [
        s
        for s in P.cand[P.cand_lo[ref] : P.cand_hi[ref]]
        if S.left_g[s] + 1e-9 >= P.j_grams[ref] and (lot < 0 or P.s_lot[s] == lot)
    ]


def _try(
    task: Task, S: State, j: int, p: int, way: int, s0: int, s1: int, prev: int, after: int, begin: int
) -> bool:
    P = task.problem
    limit = NEVER
    if after >= 0:
        limit = S.change_end[after] - next_change(P, S, j, p, way, s0, s1, after)
    at0 = first_from(P, S, s0, begin)
    at1 = first_from(P, S, s1, begin) if s1 >= 0 else 0
    for s, at in ((s0, at0), (s1, at1)):
        if s >= 0 and at < S.chain_n[s]:
            limit = min(limit, S.chain_start[P.chain_off[s] + at])
    if time_job(P, S, j, p, way, s0, s1, at0, at1, prev, limit, begin) == 0:
        return False
    return commit(P, S, j, p, way, s0, s1, prev) == 1


def _diagnose(task: Task, S: State, j: int, p: int, begin: int, prev: int, after: int) -> Held:
    """The first rule, in the order of a job's steps, that the pin breaks."""
    P = task.problem
    jobs = task.scenario.jobs
    floor = max(0, P.p_free[p], P.j_release[j])
    least = P.plate_min + P.p_bed_heat[p] + P.r_soak[P.j_recipe[j]]
    if begin < floor + least:
        return Held(
            "not before", f"changeover and preheat take at least {least} min from {_clock(task, floor)} on"
        )
    end = begin + P.start_min + print_minutes(P, j, p)
    cell = P.j_recipe[j] * P.printer_kinds + P.p_kind[p]
    cool = end + P.k_cool_min[cell]
    if prev >= 0 and S.unload_end[prev] + least > begin:
        return Held("printer", f"{jobs[prev].id} holds it until {_clock(task, S.unload_end[prev])}")
    if after >= 0 and cool + P.unload_min > S.change[after]:
        return Held("printer", f"{jobs[after].id} holds it from {_clock(task, S.change[after])}")
    if not is_free(P, S, begin, P.start_min):
        return Held("hands", f"nobody is free for its first layer at {_clock(task, begin)}")
    if P.p_unattended[p] == 0 and (begin >= P.horizon or cool > P.stretch_end[begin]):
        return Held("unattended", f"nobody is there up to {_clock(task, cool)}")
    lo, hi = P.p_down_off[p], P.p_down_off[p + 1]
    if stop_overlap(lo, hi, P.down_start, P.down_end, begin, cool) >= 0:
        return Held("downtime", "the machine's downtime cuts the print or its cool-down")
    if not _spools(task, S, j, 0) or (P.j_feeds[j] == 2 and not _spools(task, S, j, 1)):
        return Held("spools", "no spool of the lot asked for has enough filament left")
    return Held("dryness", "no spool can be dry and mounted, the chamber hot and a person free in time")


def _clock(task: Task, minute: int) -> str:
    return task.scenario.site.instant(minute).isoformat(timespec="minutes")
