"""Put a timed job into the plan, or take it out, with everything that hangs on it."""

from __future__ import annotations

from scheduler.planning.kernel.bake import close_run, open_run, tie_run, untie_run
from scheduler.planning.kernel.chain import (
    chain_holds,
    drop_entry,
    exposure_at,
    put_entry,
    rest_from,
    shift_entry,
)
from scheduler.planning.kernel.feeds import DRY, DRY_STEP, NEEDED
from scheduler.planning.kernel.hands import give, is_free, stop_overlap, take
from scheduler.planning.kernel.heat import heat_from, last_heat
from scheduler.planning.kernel.tables import ATTENDED, HEATED, LATE, MISSING, SHIFT_MIN, Problem, State
from scheduler.planning.kernel.timing import (
    BAKE,
    BEGIN,
    CHANGE,
    CHANGE_END,
    COOL_END,
    DONE,
    HEAT,
    PRINT,
    PRINT_END,
    UNLOAD,
    UNLOAD_END,
    change_minutes,
    swap_needed,
)


def chain_index(P: Problem, S: State, s: int, ref: int) -> int:
    """Position of entry ``ref`` in the spool's history."""
    base = P.chain_off[s]
    k = 0
    while S.chain_ref[base + k] != ref:
        k += 1
    return k


#: What leaving a job out weighs beside its lateness, in weighted minutes: more than any lateness is worth.
LEFT_OUT = 60000.0


def missing_weight(P: Problem, j: int) -> float:
    """What it weighs in the search that job ``j`` has no place, in weighted minutes."""
    late = P.left_out_at - P.j_due[j]
    if late < 0:
        late = 0
    return P.j_weight[j] * late + LEFT_OUT


def late_weight(P: Problem, S: State, j: int) -> float:
    """Weighted late minutes of a placed job, the cost of a move between printers among them."""
    late = 0.0
    if S.done[j] > P.j_due[j]:
        late = P.j_weight[j] * (S.done[j] - P.j_due[j])
    if P.j_keep[j] >= 0 and P.j_keep[j] != S.printer[j]:
        late += 60.0 * P.move_cost
    elif P.j_begin[j] >= 0 and S.begin[j] >= 0:
        if S.begin[j] > P.j_begin[j] + SHIFT_MIN or S.begin[j] < P.j_begin[j] - SHIFT_MIN:
            late += 60.0 * P.shift_cost
    return late


def count_job(P: Problem, S: State, j: int, sign: int) -> None:
    """Add a placed job's figures to the running ones, or take them off (``sign`` -1)."""
    S.total[LATE] += sign * late_weight(P, S, j)
    S.total[MISSING] -= sign * missing_weight(P, j)
    attended = S.change_end[j] - S.change[j] + S.print_start[j] - S.begin[j] + S.unload_end[j] - S.unload[j]
    S.total[ATTENDED] += sign * float(attended)
    S.total[HEATED] += sign * float(S.begin[j] - S.heat[j])


def bind_hands(P: Problem, S: State, j: int) -> None:
    """Bind the hands of the job's own steps, those that have not begun."""
    if S.change[j] >= 0:
        take(S, S.change[j], S.change_end[j] - S.change[j])
    if S.begin[j] >= 0 and S.begin[j] < P.horizon:
        take(S, S.begin[j], min(S.print_start[j], P.horizon) - S.begin[j])
    if S.unload[j] >= 0 and S.unload[j] < P.horizon:
        take(S, S.unload[j], min(S.unload_end[j], P.horizon) - S.unload[j])


def free_hands(P: Problem, S: State, j: int) -> None:
    """The inverse of `bind_hands`."""
    if S.change[j] >= 0:
        give(S, S.change[j], S.change_end[j] - S.change[j])
    if S.begin[j] >= 0 and S.begin[j] < P.horizon:
        give(S, S.begin[j], min(S.print_start[j], P.horizon) - S.begin[j])
    if S.unload[j] >= 0 and S.unload[j] < P.horizon:
        give(S, S.unload[j], min(S.unload_end[j], P.horizon) - S.unload[j])


def link(S: State, j: int, p: int, prev: int) -> None:
    """Put the job behind ``prev`` (-1: first) in its printer's order."""
    after = S.first[p] if prev < 0 else S.after[prev]
    S.printer[j] = p
    S.before[j] = prev
    S.after[j] = after
    if prev < 0:
        S.first[p] = j
    else:
        S.after[prev] = j
    if after < 0:
        S.last[p] = j
    else:
        S.before[after] = j


def unlink(S: State, j: int) -> None:
    """Take the job out of its printer's order."""
    p, prev, after = S.printer[j], S.before[j], S.after[j]
    if prev < 0:
        S.first[p] = after
    else:
        S.after[prev] = after
    if after < 0:
        S.last[p] = prev
    else:
        S.before[after] = prev
    S.printer[j] = -1
    S.before[j] = -1
    S.after[j] = -1


def refresh_spool(P: Problem, S: State, s: int) -> None:
    """Note how the spool's history ends."""
    n = S.chain_n[s]
    S.tail_exposed[s] = exposure_at(P, S, s, n)
    S.tail_rest[s] = rest_from(P, S, s, n)


def refresh_printer(P: Problem, S: State, p: int) -> None:
    """Note the longest gap before the printer's last job."""
    longest = 0
    j = S.first[p]
    since = P.p_free[p] if P.p_free[p] > 0 else 0
    while j >= 0:
        if S.change_end[j] - since > longest:
            longest = S.change_end[j] - since
        since = S.unload_end[j]
        j = S.after[j]
    S.idle[p] = longest


def commit(P: Problem, S: State, j: int, p: int, way: int, s0: int, s1: int, prev: int) -> int:
    """Put job ``j`` into the plan as the scratch says, behind job ``prev``.

    Returns
    -------
    int
        1, or 0 with the plan as it was if the neighbours on the machine or the later uses of its
        spools could not live with it.
    """
    t = S.t
    S.change[j] = t[CHANGE]
    S.change_end[j] = t[CHANGE_END]
    S.heat[j] = t[HEAT]
    S.begin[j] = t[BEGIN]
    S.print_start[j] = t[PRINT]
    S.print_end[j] = t[PRINT_END]
    S.cool_end[j] = t[COOL_END]
    S.unload[j] = t[UNLOAD]
    S.unload_end[j] = t[UNLOAD_END]
    S.done[j] = t[DONE]
    S.end_c[j] = P.k_end_c[P.j_recipe[j] * P.printer_kinds + P.p_kind[p]]
    S.oven_run[j] = -1
    full = 0
    for f in range(P.j_feeds[j]):
        ref = 2 * j + f
        s = s0 if f == 0 else s1
        S.head[ref] = P.p_head_off[p] + P.way_head[2 * way + f]
        S.nozzle[ref] = P.way_nozzle[2 * way + f]
        S.spool[ref] = s
        S.run[ref] = -1
        S.left_g[s] -= P.j_grams[ref]
        slot = DRY + f * DRY_STEP
        if t[slot + NEEDED] == 1 and full == 0:
            run = t[slot]
            if run == -2:
                run = S.run[2 * j]
            elif run < 0:
                run = open_run(P, S, t[slot + 1], 0, t[slot + 2], t[slot + 3], P.dry_set_c[t[slot + 4]], 0)
            if run < 0:
                full = 1
            else:
                S.run_n[run] += 1
                tie_run(S, ref, run)
                if put_entry(P, S, s, S.run_start[run], S.run_end[run], -1 - run) == 0:
                    S.run_n[run] -= 1
                    untie_run(S, ref)
                    if S.run_n[run] == 0:
                        close_run(P, S, run)
                    full = 1
        if put_entry(P, S, s, S.change[j], S.unload_end[j], ref) == 0:
            full = 2 + f
            break
    if full >= 2:
        # Only entries before the full history were made; undo those by hand.
        for f in range(full - 1):
            ref = 2 * j + f
            s = S.spool[ref]
            S.left_g[s] += P.j_grams[ref]
            if f < full - 2:
                drop_entry(P, S, s, ref)
            leave_run(P, S, ref)
        return 0
    if P.j_anneal[j] >= 0 and full == 0:
        run = t[BAKE]
        if run < 0:
            run = open_run(P, S, t[BAKE + 1], 1, t[BAKE + 2], t[BAKE + 3], P.an_temp_c[P.j_anneal[j]], 0)
        if run < 0:
            full = 1
        else:
            S.run_n[run] += 1
            S.oven_run[j] = run
    link(S, j, p, prev)
    bind_hands(P, S, j)
    count_job(P, S, j, 1)
    if full == 1:
        remove(P, S, j)
        return 0
    for f in range(P.j_feeds[j]):
        if later_uses_hold(P, S, j, f) == 0:
            remove(P, S, j)
            return 0
    after = S.after[j]
    other = after
    while other >= 0:
        # Beyond the next job only a second head can have changed hands unseen.
        if other == after or change_length(P, S, other) != S.change_end[other] - S.change[other]:
            if adapt(P, S, other) == 0:
                remove(P, S, j)
                while after != other:
                    adapt(P, S, after)
                    after = S.after[after]
                return 0
        if P.p_head_off[p + 1] - P.p_head_off[p] == 1:
            break
        other = S.after[other]
    for f in range(P.j_feeds[j]):
        refresh_spool(P, S, S.spool[2 * j + f])
    refresh_printer(P, S, p)
    return 1


def leave_run(P: Problem, S: State, ref: int) -> None:
    """Take the spool of feed ``ref`` out of the run that was made for it."""
    run = S.run[ref]
    if run >= 0:
        drop_entry(P, S, S.spool[ref], -1 - run)
        S.run_n[run] -= 1
        if S.run_n[run] == 0:
            close_run(P, S, run)
        untie_run(S, ref)


def remove(P: Problem, S: State, j: int) -> None:
    """Take job ``j`` out of the plan; whatever stands on it is the caller's care."""
    p = S.printer[j]
    count_job(P, S, j, -1)
    free_hands(P, S, j)
    unlink(S, j)
    for f in range(P.j_feeds[j]):
        ref = 2 * j + f
        drop_entry(P, S, S.spool[ref], ref)
        leave_run(P, S, ref)
        S.left_g[S.spool[ref]] += P.j_grams[ref]
        refresh_spool(P, S, S.spool[ref])
    refresh_printer(P, S, p)
    run = S.oven_run[j]
    if run >= 0:
        S.run_n[run] -= 1
        if S.run_n[run] == 0 and S.run_begun[run] == 0:
            close_run(P, S, run)
        S.oven_run[j] = -1


def later_uses_hold(P: Problem, S: State, j: int, f: int) -> int:
    """1 if every later use of the spool of feed ``f`` still keeps its rules."""
    ref = 2 * j + f
    s = S.spool[ref]
    k = chain_index(P, S, s, ref)
    base = P.chain_off[s]
    if k == S.chain_n[s] - 1:
        return 1
    if chain_holds(P, S, s) == 0:
        return 0
    for m in range(k + 1, S.chain_n[s]):
        other = S.chain_ref[base + m]
        if other < 0:
            continue
        # The next job on this machine adapts; elsewhere a changeover keeps its length.
        user = other // 2
        if user != S.after[j] and S.change[user] >= 0:
            if change_length(P, S, user) != S.change_end[user] - S.change[user]:
                return 0
        break
    return 1


def change_length(P: Problem, S: State, j: int) -> int:
    """Length of a placed job's changeover as everything now stands."""
    minutes = P.plate_min
    for f in range(P.j_feeds[j]):
        ref = 2 * j + f
        s = S.spool[ref]
        g = S.head[ref]
        swap = swap_needed(P, S, S.before[j], g, s, chain_index(P, S, s, ref))
        minutes += change_minutes(P, S, S.before[j], g, P.j_material[ref], S.nozzle[ref], swap)
    return minutes


def adapt(P: Problem, S: State, j: int) -> int:
    """Fit a placed job's changeover and preheat to what now comes before it; its print stays.

    Returns
    -------
    int
        1, or 0 with nothing changed if it can't be.
    """
    if S.change[j] < 0:
        return 1
    p = S.printer[j]
    prev = S.before[j]
    length = change_length(P, S, j)
    old, end = S.change[j], S.change_end[j]
    start = end - length
    floor = max(0, P.j_release[j], P.p_free[p])
    if prev >= 0 and S.unload_end[prev] > floor:
        floor = S.unload_end[prev]
    for f in range(P.j_feeds[j]):
        if P.s_from[S.spool[2 * j + f]] > floor:
            floor = P.s_from[S.spool[2 * j + f]]
    if start < floor:
        return 0
    if start < old:
        if is_free(P, S, start, old - start) == 0:
            return 0
        if stop_overlap(P.p_down_off[p], P.p_down_off[p + 1], P.down_start, P.down_end, start, end) >= 0:
            return 0
    from_c, since = last_heat(P, S, p, prev)
    heat = S.heat[j]
    if heat >= 0:
        heat = heat_from(P, p, P.j_recipe[j], from_c, since, end, S.begin[j])
        if heat < 0:
            return 0
        if (
            stop_overlap(P.p_down_off[p], P.p_down_off[p + 1], P.down_start, P.down_end, heat, S.begin[j])
            >= 0
        ):
            return 0
        if P.p_unattended[p] == 0 and heat < P.stretch_start[S.begin[j]]:
            return 0
    was = S.heat[j]
    move_change(P, S, j, start)
    move_heat(S, j, heat)
    for f in range(P.j_feeds[j]):
        if start != old and chain_holds(P, S, S.spool[2 * j + f]) == 0:
            move_change(P, S, j, old)
            move_heat(S, j, was)
            return 0
    return 1


def move_heat(S: State, j: int, heat: int) -> None:
    """Let the preheat begin at ``heat``, its end unchanged."""
    if heat != S.heat[j]:
        S.total[HEATED] += float(S.heat[j] - heat)
        S.heat[j] = heat


def move_change(P: Problem, S: State, j: int, start: int) -> None:
    """Let the changeover begin at ``start``, its end unchanged."""
    old = S.change[j]
    if start < old:
        take(S, start, old - start)
    elif start > old:
        give(S, old, start - old)
    if start != old:
        S.change[j] = start
        S.total[ATTENDED] += float(old - start)
        for f in range(P.j_feeds[j]):
            s = S.spool[2 * j + f]
            shift_entry(P, S, s, 2 * j + f, start)
            refresh_spool(P, S, s)
        refresh_printer(P, S, S.printer[j])
