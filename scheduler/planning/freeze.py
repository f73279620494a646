"""Jobs about to begin stay as the published plan has them, unless that no longer holds."""

from __future__ import annotations

from datetime import timedelta

from scheduler.model import DryerRun, Plan, PlannedJob
from scheduler.planning.kernel.bake import (
    blocked_until,
    close_run,
    find_anneal,
    load_minutes,
    open_run,
    tie_run,
)
from scheduler.planning.kernel.chain import (
    chain_holds,
    drop_entry,
    first_from,
    put_entry,
)
from scheduler.planning.kernel.choose import lot_asked
from scheduler.planning.kernel.hands import is_free, stop_overlap
from scheduler.planning.kernel.heat import chamber_at, last_heat, preheat_need
from scheduler.planning.kernel.place import commit, refresh_spool, remove
from scheduler.planning.kernel.tables import NEVER, State
from scheduler.planning.kernel.timing import (
    BAKE,
    BEGIN,
    CHANGE,
    CHANGE_END,
    COOL_END,
    DONE,
    HEAT,
    UNLOAD,
    UNLOAD_END,
    time_job,
)
from scheduler.planning.problem import Task


def put_frozen(task: Task, S: State, previous: Plan) -> set[str]:
    """Place the jobs whose changeover was planned within the freeze window; the ids of those that stand."""
    site = task.scenario.site
    until = site.plan_start + timedelta(minutes=site.freeze_min)
    stand: set[str] = set()
    known = task.names.jobs
    soon = [
        planned
        for planned in previous.jobs
        if planned.job in known and site.plan_start <= planned.steps[0].start < until
    ]
    for planned in sorted(soon, key=lambda planned: (planned.steps[0].start, planned.job)):
        if S.printer[known[planned.job]] < 0 and _put(task, S, previous, planned):
            S.fixed[known[planned.job]] = 1
            stand.add(planned.job)
    return stand


def _put(task: Task, S: State, previous: Plan, planned: PlannedJob) -> bool:
    P, names = task.problem, task.names
    j, p = names.jobs[planned.job], names.printers.get(planned.printer, -1)
    if task.scenario.jobs[j].pinned is not None or p < 0:
        return False
    way = _way(task, j, p, planned)
    spools = [names.spools.get(choice.spool, -1) for choice in planned.feeds]
    if way < 0 or min(spools) < 0 or len(spools) != P.j_feeds[j]:
        return False
    lot = lot_asked(P, S, j)
    for f, s in enumerate(spools):
        ref = 2 * j + f
        if s not in P.cand[P.cand_lo[ref] : P.cand_hi[ref]] or S.left_g[s] + 1e-9 < P.j_grams[ref]:
            return False
        if f == 0 and lot != -1 and P.s_lot[s] != lot:
            return False
    minute = task.scenario.site.minute
    begin, change, unload = (minute(planned.steps[k].start) for k in (2, 0, 5))
    prev, after = -1, S.first[p]
    while after >= 0 and S.begin[after] <= begin:
        prev, after = after, S.after[after]
    opened = [_dry_as_before(task, S, previous, s, change) for s in spools]
    s0, s1 = spools[0], spools[1] if len(spools) == 2 else -1
    limit = NEVER if after < 0 else S.change[after]
    at0 = first_from(P, S, s0, change)
    at1 = first_from(P, S, s1, change) if s1 >= 0 else 0
    good = bool(time_job(P, S, j, p, way, s0, s1, at0, at1, prev, limit, begin))
    good = (
        good
        and _begin(task, S, j, p, prev, change)
        and _hold(task, S, j, p, prev, minute(planned.steps[1].start))
    )
    good = good and _wait(task, S, j, p, unload, limit)
    good = good and bool(commit(P, S, j, p, way, s0, s1, prev))
    if good and not all(chain_holds(P, S, s) for s in spools):
        remove(P, S, j)
        good = False
    if good:
        for f, run in enumerate(opened):
            if run is not None and S.run[2 * j + f] < 0:
                tie_run(S, 2 * j + f, run)
        return True
    for s, run in zip(spools, opened, strict=True):
        if run is not None:
            drop_entry(P, S, s, -1 - run)
            S.run_n[run] -= 1
            if S.run_n[run] == 0:
                close_run(P, S, run)
            refresh_spool(P, S, s)
    return False


def _begin(task: Task, S: State, j: int, p: int, prev: int, change: int) -> bool:
    """Let the changeover in the scratch begin as early as it did; True if it may."""
    P, t = task.problem, S.t
    if change == t[CHANGE]:
        return True
    length = t[CHANGE_END] - t[CHANGE]
    floor = max(0, P.j_release[j], P.p_free[p], S.unload_end[prev] if prev >= 0 else 0)
    if not floor <= change < t[CHANGE] or not is_free(P, S, change, length):
        return False
    lo, hi = P.p_down_off[p], P.p_down_off[p + 1]
    if stop_overlap(lo, hi, P.down_start, P.down_end, change, change + length) >= 0:
        return False
    t[CHANGE], t[CHANGE_END] = change, change + length
    return True


def _hold(task: Task, S: State, j: int, p: int, prev: int, heat: int) -> bool:
    """Let the preheat in the scratch begin as early as it did; True if it may."""
    P, t = task.problem, S.t
    if heat == t[HEAT]:
        return True
    from_c, since = last_heat(P, S, p, prev)
    need = preheat_need(P, p, P.j_recipe[j], chamber_at(P, p, from_c, since, heat))
    if not t[CHANGE_END] <= heat <= t[BEGIN] - need:
        return False
    if not P.p_unattended[p] and P.stretch_start[t[BEGIN]] > heat:
        return False
    lo, hi = P.p_down_off[p], P.p_down_off[p + 1]
    if stop_overlap(lo, hi, P.down_start, P.down_end, heat, t[BEGIN]) >= 0:
        return False
    t[HEAT] = heat
    return True


def _wait(task: Task, S: State, j: int, p: int, unload: int, limit: int) -> bool:
    """Let the unload in the scratch begin as late as it did; True if it may."""
    P, t = task.problem, S.t
    if unload == t[UNLOAD]:
        return True
    end = unload + P.unload_min
    if unload < t[COOL_END] or end > limit or not is_free(P, S, unload, P.unload_min):
        return False
    lo, hi = P.p_down_off[p], P.p_down_off[p + 1]
    if stop_overlap(lo, hi, P.down_start, P.down_end, unload, end) >= 0:
        return False
    done = end
    if P.j_anneal[j] >= 0:
        if not find_anneal(P, S, P.j_anneal[j], end, BAKE):
            return False
        done = t[BAKE + 3]
    t[UNLOAD], t[UNLOAD_END], t[DONE] = unload, end, done + P.j_finish[j]
    return True


def _way(task: Task, j: int, p: int, planned: PlannedJob) -> int:
    """The way with the same heads and nozzles, -1 if it no longer fits."""
    P = task.problem
    asked = [(choice.head, choice.nozzle) for choice in planned.feeds]
    fit = P.j_fit[j]
    for i in range(P.fit_off[fit], P.fit_off[fit + 1]):
        if P.fit_printer[i] != p:
            continue
        for way in range(P.way_off[P.fit_ways[i]], P.way_off[P.fit_ways[i] + 1]):
            there = []
            for f in range(P.j_feeds[j]):
                g = P.p_head_off[p] + P.way_head[2 * way + f]
                there.append((task.names.head_of[g][1], task.names.nozzle_of[g][P.way_nozzle[2 * way + f]]))
            if there == asked:
                return way
    return -1


def _dry_as_before(task: Task, S: State, previous: Plan, s: int, change: int) -> int | None:
    """Plan the run again from which the spool came, if it has not begun; the run, or ``None``."""
    P, minute = task.problem, task.scenario.site.minute
    sid = task.scenario.spools[s].id
    last: DryerRun | None = None
    for run in previous.dryer_runs:
        if sid in run.spools and minute(run.end) <= change and (last is None or run.start > last.start):
            last = run
    if last is None or minute(last.start) < 0 or last.dryer not in task.names.machines:
        return None
    start, end, b = minute(last.start), minute(last.end), task.names.machines[last.dryer]
    dry_class = P.s_dry_first[s] if P.s_runs_before[s] == 0 and S.chain_n[s] == 0 else P.s_dry_next[s]
    fits = any(
        P.dry_machine[d] == b and P.dry_set_c[d] == last.setpoint_c and P.dry_min[d] <= end - start
        for d in range(P.dry_off[dry_class], P.dry_off[dry_class + 1])
    )
    if not fits or S.tail_rest[s] > start:
        return None
    joined = -1
    for k in range(S.machine_n[b]):
        there = S.machine_run[b * P.machine_cap + k]
        if (
            S.run_start[there] == start
            and S.run_end[there] == end
            and S.run_oven[there] == 0
            and S.run_set_c[there] == last.setpoint_c
            and S.run_begun[there] == 0
            and P.b_kind[b] == 0
            and S.run_n[there] < P.b_slots[b]
        ):
            joined = there
    if joined < 0:
        if not is_free(P, S, start, load_minutes(P, 0, start, end)):
            return None
        if blocked_until(P, S, b, 0, start, end) >= 0:
            return None
        # A batch lasts as long as its longest spool: alone, a shorter recipe would not fill it.
        exact = any(
            P.dry_machine[d] == b and P.dry_set_c[d] == last.setpoint_c and P.dry_min[d] == end - start
            for d in range(P.dry_off[dry_class], P.dry_off[dry_class + 1])
        )
        if P.b_kind[b] == 0 and not exact:
            return None
        joined = open_run(P, S, b, 0, start, end, last.setpoint_c, 0)
        if joined < 0:
            return None
    S.run_n[joined] += 1
    put_entry(P, S, s, start, end, -1 - joined)
    refresh_spool(P, S, s)
    if not chain_holds(P, S, s):
        drop_entry(P, S, s, -1 - joined)
        S.run_n[joined] -= 1
        if S.run_n[joined] == 0:
            close_run(P, S, joined)
        refresh_spool(P, S, s)
        return None
    return joined
