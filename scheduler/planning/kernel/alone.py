"""The soonest that a job could be done if it had the shop to itself: no plan can beat it."""

from __future__ import annotations

from scheduler.planning.kernel.hands import stop_overlap
from scheduler.planning.kernel.heat import preheat_need, print_minutes
from scheduler.planning.kernel.tables import NEVER, Problem, State


def staffed_after(P: Problem, minute: int, length: int) -> int:
    """First minute at or after ``minute`` from which somebody is there for ``length`` minutes; -1 if none."""
    if length <= 0:
        return minute
    at = minute
    while at < P.horizon:
        at = P.staffed_next[at]
        if at >= P.horizon:
            return -1
        if P.stretch_end[at] - at >= length:
            return at
        at = P.stretch_end[at]
    return -1


def with_people(P: Problem, p: int, minute: int, length: int) -> int:
    """As `staffed_after`, while printer ``p`` is not stopped."""
    at = minute
    while True:
        at = staffed_after(P, at, length)
        if at < 0:
            return -1
        stop = stop_overlap(P.p_down_off[p], P.p_down_off[p + 1], P.down_start, P.down_end, at, at + length)
        if stop < 0:
            return at
        at = stop


def mount_soonest(P: Problem, S: State, s: int) -> int:
    """Soonest minute at which spool ``s`` could be mounted, dry if it must be; `NEVER` if it can't be."""
    ready = S.tail_rest[s]
    if P.s_needs_drying[s] == 0 or (S.tail_exposed[s] >= 0 and S.tail_exposed[s] <= P.s_open[s]):
        return ready
    least = NEVER
    for c in range(2):
        dry_class = P.s_dry_first[s] if c == 0 else P.s_dry_next[s]
        for d in range(P.dry_off[dry_class], P.dry_off[dry_class + 1]):
            if P.dry_min[d] < least:
                least = P.dry_min[d]
    if least >= NEVER:
        return NEVER
    load = P.dryer_load_min if P.dryer_load_min < least else least
    at = staffed_after(P, ready, load)
    return NEVER if at < 0 else at + least


def spool_soonest(P: Problem, S: State, j: int, f: int) -> int:
    """Soonest minute at which any spool could be mounted for feed ``f``, dry if it must be."""
    ref = 2 * j + f
    soonest = NEVER
    for k in range(P.cand_lo[ref], P.cand_hi[ref]):
        if S.tail_rest[P.cand[k]] < soonest:
            ready = mount_soonest(P, S, P.cand[k])
            if ready < soonest:
                soonest = ready
    return soonest


def done_alone(P: Problem, S: State, j: int, p: int, spool_at: int) -> int:
    """Soonest minute at which job ``j`` could be done on printer ``p``; `NEVER` if it can't be."""
    recipe = P.j_recipe[j]
    cell = recipe * P.printer_kinds + P.p_kind[p]
    floor = max(0, P.j_release[j], P.p_free[p])
    busy = S.last[p]
    if busy >= 0 and S.unload_end[busy] > floor:
        floor = S.unload_end[busy]
    change = with_people(P, p, max(floor, spool_at), P.plate_min)
    if change < 0:
        return NEVER
    heat = change + P.plate_min
    least = P.p_bed_heat[p] + P.r_soak[recipe]
    begin = heat + least
    if busy < 0:
        # Cold at first; hot from a job before, released sooner perhaps, only after its own shortest stay.
        cold = preheat_need(P, p, recipe, P.p_now_c[p])
        if P.p_now_c[p] <= P.r_highest_c[recipe]:
            cold += heat
        begin = max(begin, min(cold, max(0, P.p_free[p]) + P.least_stay + least))
    after = P.start_min + print_minutes(P, j, p) + P.k_cool_min[cell]
    while True:
        begin = staffed_after(P, begin, P.start_min)
        if begin < 0:
            return NEVER
        if P.p_unattended[p] == 0:
            if begin >= P.horizon:
                return NEVER
            if P.staffed_next[begin] > begin:
                begin = P.staffed_next[begin]
                continue
            end = P.stretch_end[begin]
            if begin + after > end:
                begin = end
                continue
            if begin - least < P.stretch_start[begin]:
                begin = P.stretch_start[begin] + least
                continue
        stop = stop_overlap(
            P.p_down_off[p], P.p_down_off[p + 1], P.down_start, P.down_end, begin, begin + after
        )
        if stop < 0:
            break
        begin = stop
    return done_after(P, j, p, begin + after)


def done_after(P: Problem, j: int, p: int, cool_end: int) -> int:
    """Soonest minute at which job ``j``, cool on printer ``p`` at ``cool_end``, could be done."""
    unload = with_people(P, p, cool_end, P.unload_min)
    if unload < 0:
        return NEVER
    done = unload + P.unload_min
    if P.j_anneal[j] >= 0:
        length = P.an_min[P.j_anneal[j]]
        load = P.oven_load_min if P.oven_load_min < length else length
        oven = staffed_after(P, done, load)
        if oven < 0:
            return NEVER
        done = oven + length
    return done + P.j_finish[j]


def soonest_done(P: Problem, S: State, j: int) -> int:
    """Soonest minute at which job ``j`` could be done anywhere; `NEVER` if nowhere within the shifts.

    ``S`` holds the work under way and nothing else.
    """
    fit = P.j_fit[j]
    spool_at = spool_soonest(P, S, j, 0)
    if P.j_feeds[j] == 2:
        spool_at = max(spool_at, spool_soonest(P, S, j, 1))
    if spool_at >= NEVER:
        return NEVER
    best = NEVER
    for i in range(P.fit_off[fit], P.fit_off[fit + 1]):
        done = done_alone(P, S, j, P.fit_printer[i], spool_at)
        if done < best:
            best = done
    return best
