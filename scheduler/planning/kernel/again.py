"""Put jobs back as a plan has them, minute for minute, as far as every rule still holds."""

from __future__ import annotations

from scheduler.planning.kernel.bake import blocked_until, load_minutes
from scheduler.planning.kernel.chain import chain_holds, first_from, recipe_for, rest_from
from scheduler.planning.kernel.cut import close_cut, mend_run
from scheduler.planning.kernel.feeds import DRY, DRY_STEP, NEEDED
from scheduler.planning.kernel.hands import give, is_free, stop_overlap, take
from scheduler.planning.kernel.heat import chamber_at, last_heat, preheat_need, print_minutes
from scheduler.planning.kernel.place import commit, remove
from scheduler.planning.kernel.spools import is_candidate, lot_asked
from scheduler.planning.kernel.tables import BATCH, CLOSED, NEVER, Problem, State
from scheduler.planning.kernel.timing import (
    BAKE,
    BEGIN,
    CHANGE,
    CHANGE_END,
    COOL_END,
    HEAT,
    PRINT,
    PRINT_END,
    UNLOAD,
    UNLOAD_END,
    change_with_drying,
    time_job,
)

#: A job's row in `State.given`: job, printer, way, spools (-1: none), the figures `CHANGE` to `DONE`,
#: then of the runs of its first feed, its second and its anneal: machine (-1: none), start, end, whether
#: it is that of the first feed; the setpoints stand in `State.given_c`, °C, three a row.
G_JOB, G_PRINTER, G_WAY, G_SPOOL, G_TIMES, G_RUNS, G_ROW = 0, 1, 2, 3, 5, 15, 28


def run_like(P: Problem, S: State, b: int, oven: int, start: int, end: int, set_c: float) -> int:
    """A run of machine ``b`` with these minutes and this setpoint that has room, -1 if there is none."""
    room = P.b_oven_slots[b] if oven == 1 else P.b_slots[b]
    if oven == 0 and P.b_kind[b] != BATCH:
        return -1
    for k in range(S.machine_n[b]):
        run = S.machine_run[b * P.machine_cap + k]
        if (
            S.run_begun[run] == 0
            and S.run_oven[run] == oven
            and S.run_start[run] == start
            and S.run_end[run] == end
            and S.run_set_c[run] == set_c
            and S.run_n[run] < room
        ):
            return run
    return -1


def runs_noted(P: Problem, S: State, at: int, j: int, s0: int, s1: int) -> int:
    """Note in the scratch the runs of the row at ``at``; 1 if each can be joined or opened."""
    t = S.t
    change = S.given[at + G_TIMES + CHANGE]
    for f in range(P.j_feeds[j]):
        s = s0 if f == 0 else s1
        slot = DRY + f * DRY_STEP
        base = at + G_RUNS + 4 * f
        b, start, end = S.given[base], S.given[base + 1], S.given[base + 2]
        t[slot + NEEDED] = 0
        if b < 0:
            continue
        set_c = S.given_c[at // G_ROW * 3 + f]
        position = first_from(P, S, s, change)
        d = recipe_for(P, S, s, position, b, set_c, end - start)
        if d < 0 or start < max(0, rest_from(P, S, s, position)) or end > change:
            return 0
        t[slot + NEEDED] = 1
        t[slot] = run_like(P, S, b, 0, start, end, set_c)
        if t[slot] < 0:
            if blocked_until(P, S, b, 0, start, end) >= 0:
                return 0
            if f == 1 and t[DRY + NEEDED] == 1 and t[DRY] == -1 and same_run(S, at) == 1:
                if P.b_kind[b] != BATCH or P.b_slots[b] < 2:
                    return 0
                t[slot] = -2
        t[slot + 1] = b
        t[slot + 2] = start
        t[slot + 3] = end
        t[slot + 4] = d
    if P.j_anneal[j] >= 0:
        base = at + G_RUNS + 8
        b, start, end = S.given[base], S.given[base + 1], S.given[base + 2]
        program = P.j_anneal[j]
        serves = 0
        for a in range(P.an_off[program], P.an_off[program + 1]):
            if P.an_machine[a] == b:
                serves = 1
        late = start < S.given[at + G_TIMES + UNLOAD_END]
        if b < 0 or serves == 0 or late or end - start != P.an_min[program]:
            return 0
        t[BAKE] = run_like(P, S, b, 1, start, end, P.an_temp_c[program])
        if t[BAKE] < 0 and blocked_until(P, S, b, 1, start, end) >= 0:
            return 0
        t[BAKE + 1] = b
        t[BAKE + 2] = start
        t[BAKE + 3] = end
    return 1


def same_run(S: State, at: int) -> int:
    """1 if both feeds of the row are dried in one run."""
    return S.given[at + G_RUNS + 7]


def hands_suffice(P: Problem, S: State, j: int) -> int:
    """1 if a hand is free for each thing that the scratch asks of people."""
    free = 1
    taken = 0
    while taken < 6 and free == 1:
        start, length = hand_asked(P, S, j, taken)
        free = is_free(P, S, start, length)
        if free == 1:
            take(S, start, length)
            taken += 1
    while taken > 0:
        taken -= 1
        start, length = hand_asked(P, S, j, taken)
        give(S, start, length)
    return free


def hand_asked(P: Problem, S: State, j: int, k: int) -> tuple[int, int]:
    """Start and minutes of the ``k``-th thing that the scratch asks of people; 0 minutes if nothing."""
    t = S.t
    if k == 0:
        return t[CHANGE], t[CHANGE_END] - t[CHANGE]
    if k == 1:
        return t[BEGIN], P.start_min
    if k == 2:
        return t[UNLOAD], P.unload_min
    if k < 5:
        slot = DRY + (k - 3) * DRY_STEP
        if k - 3 < P.j_feeds[j] and t[slot + NEEDED] == 1 and t[slot] == -1:
            return t[slot + 2], load_minutes(P, 0, t[slot + 2], t[slot + 3])
        return 0, 0
    if P.j_anneal[j] >= 0 and t[BAKE] < 0:
        return t[BAKE + 2], load_minutes(P, 1, t[BAKE + 2], t[BAKE + 3])
    return 0, 0


def printer_bears(P: Problem, S: State, j: int, p: int, way: int, s0: int, s1: int, prev: int) -> int:
    """1 if the minutes in the scratch keep every rule of the printer and have their due lengths."""
    t = S.t
    cell = P.j_recipe[j] * P.printer_kinds + P.p_kind[p]
    floor = max(0, P.j_release[j], P.p_free[p])
    if prev >= 0 and S.unload_end[prev] > floor:
        floor = S.unload_end[prev]
    if t[CHANGE] < floor or t[HEAT] < t[CHANGE_END] or t[UNLOAD] < t[COOL_END]:
        return 0
    at0 = first_from(P, S, s0, t[CHANGE])
    at1 = first_from(P, S, s1, t[CHANGE]) if s1 >= 0 else 0
    if t[CHANGE_END] - t[CHANGE] != change_with_drying(P, S, j, p, way, s0, s1, at0, at1, prev):
        return 0
    from_c, since = last_heat(P, S, p, prev)
    need = preheat_need(P, p, P.j_recipe[j], chamber_at(P, p, from_c, since, t[HEAT]))
    if t[BEGIN] - t[HEAT] < need or t[PRINT] != t[BEGIN] + P.start_min:
        return 0
    if t[PRINT_END] != t[PRINT] + print_minutes(P, j, p) or t[COOL_END] != t[PRINT_END] + P.k_cool_min[cell]:
        return 0
    if t[UNLOAD_END] != t[UNLOAD] + P.unload_min:
        return 0
    if P.p_unattended[p] == 0:
        if t[BEGIN] >= P.horizon or t[HEAT] < P.stretch_start[t[BEGIN]]:
            return 0
        if t[COOL_END] > P.stretch_end[t[BEGIN]]:
            return 0
    lo, hi = P.p_down_off[p], P.p_down_off[p + 1]
    if stop_overlap(lo, hi, P.down_start, P.down_end, t[CHANGE], t[CHANGE_END]) >= 0:
        return 0
    if stop_overlap(lo, hi, P.down_start, P.down_end, t[HEAT], t[COOL_END]) >= 0:
        return 0
    if stop_overlap(lo, hi, P.down_start, P.down_end, t[UNLOAD], t[UNLOAD_END]) >= 0:
        return 0
    return 1


def put_given(P: Problem, S: State, row: int) -> int:
    """Put a job back as row ``row`` of ``given`` says.

    Where its changeover, preheat, drying or anneal no longer stand as they were, they may change; its
    first layer stays.

    Returns
    -------
    int
        2 if it stands as it was, 1 if only its first layer does, 0 if it has no place there.
    """
    at = row * G_ROW
    j, p, way = S.given[at + G_JOB], S.given[at + G_PRINTER], S.given[at + G_WAY]
    s0, s1 = S.given[at + G_SPOOL], S.given[at + G_SPOOL + 1]
    if S.printer[j] >= 0:
        return 0
    begin = S.given[at + G_TIMES + BEGIN]
    prev = S.last[p]
    while prev >= 0 and S.begin[prev] > begin:
        prev = S.before[prev]
    after = S.first[p] if prev < 0 else S.after[prev]
    if after >= 0 and S.fixed[after] >= CLOSED:
        return 0
    for f in range(P.j_feeds[j]):
        s = s0 if f == 0 else s1
        if bears(P, S, j, f, s) == 0:
            return 0
    for k in range(10):
        S.t[k] = S.given[at + G_TIMES + k]
    exact = runs_noted(P, S, at, j, s0, s1)
    if exact == 1:
        exact = printer_bears(P, S, j, p, way, s0, s1, prev)
    if exact == 1:
        exact = hands_suffice(P, S, j)
    if exact == 1 and commit(P, S, j, p, way, s0, s1, prev) == 1:
        if spools_hold(P, S, j) == 1:
            return 2
        remove(P, S, j)
    limit = NEVER if after < 0 else S.change[after]
    at0 = first_from(P, S, s0, begin)
    at1 = first_from(P, S, s1, begin) if s1 >= 0 else 0
    if time_job(P, S, j, p, way, s0, s1, at0, at1, prev, limit, begin) == 0:
        return 0
    if commit(P, S, j, p, way, s0, s1, prev) == 0:
        return 0
    if spools_hold(P, S, j) == 0:
        remove(P, S, j)
        return 0
    return 1


def bears(P: Problem, S: State, j: int, f: int, s: int) -> int:
    """1 if the spool would do for feed ``f`` beside what is placed."""
    if f == 1 or P.j_group[j] < 0:
        return is_candidate(P, S, j, f, s)
    lot = lot_asked(P, S, j)
    if lot != -1 and lot != P.s_lot[s]:
        return 0
    if S.left_g[s] + 1e-9 < P.j_grams[2 * j]:
        return 0
    for k in range(P.cand_lo[2 * j], P.cand_hi[2 * j]):
        if P.cand[k] == s:
            return 1
    return 0


def spools_hold(P: Problem, S: State, j: int) -> int:
    """1 if the histories of the job's spools keep their rules."""
    for f in range(P.j_feeds[j]):
        if chain_holds(P, S, S.spool[2 * j + f]) == 0:
            return 0
    return 1


def put_all_given(P: Problem, S: State, rows: int) -> int:
    """Put the first ``rows`` rows of ``given`` back, in their order; how many stand as they were.

    Runs in dryers whose longest spool did not come back lose the others too.
    """
    exact = 0
    for row in range(rows):
        if put_given(P, S, row) == 2:
            exact += 1
    n = 0
    for row in range(rows):
        j = S.given[row * G_ROW + G_JOB]
        for f in range(P.j_feeds[j]):
            if S.printer[j] >= 0 and S.run[2 * j + f] >= 0 and n >= 0:
                n = mend_run(P, S, S.run[2 * j + f], n, P.jobs)
    if n > 0:
        close_cut(P, S, n, P.jobs)
    return exact
