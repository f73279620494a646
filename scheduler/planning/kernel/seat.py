"""Steps that can wait give way: their hands are lifted while others come, then they are seated again."""

from __future__ import annotations

from scheduler.planning.kernel.bake import blocked_until, enlist, load_minutes, unlist
from scheduler.planning.kernel.chain import chain_holds, rest_from
from scheduler.planning.kernel.dice import roll
from scheduler.planning.kernel.hands import (
    attended_after,
    attended_before,
    give,
    is_free,
    slot_after,
    slot_before,
    take,
)
from scheduler.planning.kernel.place import chain_index, count_job, refresh_printer, refresh_spool
from scheduler.planning.kernel.tables import FREE, NEVER, ROLLING, Problem, State

#: Scratch: how many steps are lifted, at most so many, and those: a run whose loading it is, or -1 minus
#: the job whose unload it is. No changeover: it changes its length when others come before it.
LIFTED_N, LIFTED, LIFTED_MOST = 196, 197, 24
#: Scratch: between which minutes a run could begin.
SEAT_LO, SEAT_HI = 222, 223
#: How often a machine that is taken is tried again.
SEAT_TRIES = 6


def lift(P: Problem, S: State, since: int, until: int) -> None:
    """Free the hands of unloads and loadings in ``[since, until)`` that could come sooner or later."""
    t = S.t
    t[LIFTED_N] = 0
    j = roll(S, P.jobs)
    for _ in range(P.jobs):
        j = j + 1 if j + 1 < P.jobs else 0
        if S.printer[j] < 0 or S.fixed[j] != FREE or t[LIFTED_N] >= LIFTED_MOST // 2:
            continue
        if since <= S.unload[j] and S.unload[j] < until and room_for_unload(P, S, j) == 1:
            give(S, S.unload[j], P.unload_min)
            t[LIFTED + t[LIFTED_N]] = -1 - j
            t[LIFTED_N] += 1
    if P.machines == 0:
        return
    b = roll(S, P.machines)
    for _ in range(P.machines):
        b = b + 1 if b + 1 < P.machines else 0
        k = S.machine_n[b]
        while k > 0:
            k -= 1
            run = S.machine_run[b * P.machine_cap + k]
            if S.run_start[run] < since:
                break
            if S.run_start[run] >= until or S.run_begun[run] == 1:
                continue
            load = load_minutes(P, S.run_oven[run], S.run_start[run], S.run_end[run])
            if load <= 0 or can_wait(P, S, run, load) == 0:
                continue
            if t[LIFTED_N] >= LIFTED_MOST:
                return
            give(S, S.run_start[run], load)
            t[LIFTED + t[LIFTED_N]] = run
            t[LIFTED_N] += 1


def room_for_unload(P: Problem, S: State, j: int) -> int:
    """Note in the scratch between which minutes an unload could begin; 1 if it could come at another time."""
    t = S.t
    hi = P.j_due[j] - P.j_finish[j]
    if S.oven_run[j] >= 0:
        hi = S.run_start[S.oven_run[j]]
    if S.after[j] >= 0:
        hi = min(hi, S.change[S.after[j]])
    t[SEAT_LO] = S.cool_end[j]
    t[SEAT_HI] = max(S.unload[j], min(hi, P.horizon) - P.unload_min)
    if P.unload_min <= 0 or S.unload_end[j] > P.horizon:
        return 0
    return 1 if t[SEAT_HI] - S.unload[j] >= P.unload_min or S.unload[j] > S.cool_end[j] else 0


def can_wait(P: Problem, S: State, run: int, load: int) -> int:
    """1 if the run could begin so much sooner or later that its loading would be over, or not begun."""
    t = S.t
    if find_room(P, S, run) == 0:
        return 0
    b = S.run_machine[run]
    if S.run_oven[run] == 1 or P.b_kind[b] != ROLLING:
        base = b * P.machine_cap
        k = 0
        while S.machine_run[base + k] != run:
            k += 1
        if k > 0:
            t[SEAT_LO] = max(t[SEAT_LO], S.run_end[S.machine_run[base + k - 1]])
        if k + 1 < S.machine_n[b]:
            length = S.run_end[run] - S.run_start[run]
            t[SEAT_HI] = min(t[SEAT_HI], S.run_start[S.machine_run[base + k + 1]] - length)
    start = S.run_start[run]
    return 1 if start - t[SEAT_LO] >= load or t[SEAT_HI] - start >= load else 0


def seat(P: Problem, S: State) -> int:
    """Bind the hands of what was lifted again, elsewhere if others have them; 0 if that can't be."""
    t = S.t
    left = 0
    for k in range(t[LIFTED_N]):
        step = t[LIFTED + k]
        if step < 0:
            start, load = S.unload[-1 - step], P.unload_min
        else:
            start = S.run_start[step]
            load = load_minutes(P, S.run_oven[step], start, S.run_end[step])
        if is_free(P, S, start, load) == 1:
            take(S, start, load)
        else:
            t[LIFTED + left] = step
            left += 1
    t[LIFTED_N] = 0
    for k in range(left):
        step = t[LIFTED + k]
        if step < 0:
            if unload_elsewhen(P, S, -1 - step) == 0:
                return 0
        elif seat_elsewhere(P, S, step) == 0:
            return 0
    return 1


def unload_elsewhen(P: Problem, S: State, j: int) -> int:
    """Let a job whose unload has no hands come off at the nearest other minute; 0 if none serves."""
    t = S.t
    if room_for_unload(P, S, j) == 0:
        return 0
    p, start = S.printer[j], S.unload[j]
    later = attended_after(P, S, p, start, P.unload_min)
    if later > t[SEAT_HI]:
        later = -1
    sooner = attended_before(P, S, p, start + P.unload_min, P.unload_min, t[SEAT_LO])
    at = later
    if sooner >= 0 and (later < 0 or start - sooner < later - start):
        at = sooner
    if at < 0:
        return 0
    take(S, at, P.unload_min)
    set_unload(P, S, j, at)
    for f in range(P.j_feeds[j]):
        if chain_holds(P, S, S.spool[2 * j + f]) == 0:
            return 0
    return 1


def set_unload(P: Problem, S: State, j: int, at: int) -> None:
    """Let a job's unload begin at ``at``, hands apart."""
    count_job(P, S, j, -1)
    S.unload[j] = at
    S.unload_end[j] = at + P.unload_min
    if P.j_anneal[j] < 0:
        S.done[j] = S.unload_end[j] + P.j_finish[j]
    count_job(P, S, j, 1)
    for f in range(P.j_feeds[j]):
        s = S.spool[2 * j + f]
        S.chain_end[P.chain_off[s] + chain_index(P, S, s, 2 * j + f)] = S.unload_end[j]
        refresh_spool(P, S, s)
    refresh_printer(P, S, S.printer[j])


def find_room(P: Problem, S: State, run: int) -> int:
    """Note in the scratch between which minutes a run could begin for those in it; 0 if it must stay."""
    t = S.t
    start = S.run_start[run]
    length = S.run_end[run] - start
    lo, hi = 0, NEVER
    if S.run_oven[run] == 1:
        for j in range(P.jobs):
            if S.oven_run[j] == run and S.printer[j] >= 0:
                if S.fixed[j] != FREE:
                    return 0
                lo = max(lo, S.unload_end[j])
                hi = min(hi, max(start, P.j_due[j] - P.j_finish[j] - length))
    else:
        ref = S.run_first[run]
        while ref >= 0:
            if S.fixed[ref // 2] != FREE:
                return 0
            s = S.spool[ref]
            k = chain_index(P, S, s, -1 - run)
            lo = max(lo, rest_from(P, S, s, k))
            hi = min(hi, S.chain_start[P.chain_off[s] + k + 1] - length)
            ref = S.run_next[ref]
    t[SEAT_LO] = lo
    t[SEAT_HI] = hi
    return 1


def seat_elsewhere(P: Problem, S: State, run: int) -> int:
    """Let a run whose hands are free begin at the nearest other minute that serves; 0 if none does."""
    t = S.t
    if find_room(P, S, run) == 0:
        return 0
    start = S.run_start[run]
    length = S.run_end[run] - start
    b, oven = S.run_machine[run], S.run_oven[run]
    load = load_minutes(P, oven, start, S.run_end[run])
    unlist(P, S, b, run)
    later = slot_after(P, S, max(start, t[SEAT_LO]), load)
    for _ in range(SEAT_TRIES):
        if later < 0 or later > t[SEAT_HI]:
            later = -1
            break
        again = blocked_until(P, S, b, oven, later, later + length)
        if again < 0:
            break
        later = slot_after(P, S, max(again, later + 1), load)
    if later >= 0 and (later > t[SEAT_HI] or blocked_until(P, S, b, oven, later, later + length) >= 0):
        later = -1
    sooner = slot_before(P, S, min(start, t[SEAT_HI]) + load, load, t[SEAT_LO])
    for _ in range(SEAT_TRIES):
        if sooner < 0 or blocked_until(P, S, b, oven, sooner, sooner + length) < 0:
            break
        sooner = slot_before(P, S, sooner + load - 1, load, t[SEAT_LO])
    if sooner >= 0 and blocked_until(P, S, b, oven, sooner, sooner + length) >= 0:
        sooner = -1
    at = later
    if sooner >= 0 and (later < 0 or start - sooner < later - start):
        at = sooner
    if at < 0:
        return 0
    S.run_start[run] = at
    S.run_end[run] = at + length
    enlist(P, S, b, run)
    take(S, at, load)
    return move_members(P, S, run)


def move_members(P: Problem, S: State, run: int) -> int:
    """Let those in a run know its minutes; 0 if a spool would not keep dry."""
    if S.run_oven[run] == 1:
        for j in range(P.jobs):
            if S.oven_run[j] == run and S.printer[j] >= 0:
                count_job(P, S, j, -1)
                S.done[j] = S.run_end[run] + P.j_finish[j]
                count_job(P, S, j, 1)
        return 1
    ref = S.run_first[run]
    while ref >= 0:
        s = S.spool[ref]
        at = P.chain_off[s] + chain_index(P, S, s, -1 - run)
        S.chain_start[at] = S.run_start[run]
        S.chain_end[at] = S.run_end[run]
        if chain_holds(P, S, s) == 0:
            return 0
        refresh_spool(P, S, s)
        ref = S.run_next[ref]
    return 1
