"""When a job could run in one gap of one printer, with given heads, nozzles and spools."""

from __future__ import annotations

from scheduler.planning.kernel.bake import MEMO_ON, anneal_no_sooner, find_anneal_again
from scheduler.planning.kernel.chain import exposure_at, rest_from
from scheduler.planning.kernel.feeds import (
    DRY,
    DRY_STEP,
    NEEDED,
    chases,
    dry_beside,
    dry_feed,
    dry_together,
)
from scheduler.planning.kernel.hands import (
    attended_after,
    attended_before,
    is_free,
    slot_after,
    stop_overlap,
)
from scheduler.planning.kernel.heat import (
    chamber_at,
    heat_from,
    last_heat,
    preheat_need,
    print_minutes,
)
from scheduler.planning.kernel.tables import NEVER, Problem, State

# Places of one timing's figures in the scratch.
CHANGE, CHANGE_END, HEAT, BEGIN, PRINT, PRINT_END, COOL_END, UNLOAD, UNLOAD_END, DONE = range(10)
#: The anneal: run to join, machine, start, end.
BAKE = 40
#: How many minutes later than it could a job in no hurry is unloaded, and goes into its oven.
UNLOAD_LATER, BAKE_LATER = 147, 148
#: 1: an anneal is taken to begin at once, and nothing is put off.
ROUGH = 150
#: 1 after `time_job` if it hung on when the spools can be had; 0: on none of that.
BY_SPOOL = 151

#: How often one timing may be put off before the gap is given up.
PATIENCE = 400
#: And how often for the sake of a spool that could be dried again instead.
PUSHES = 40


def last_on_head(P: Problem, S: State, prev: int, g: int) -> int:
    """The job (times two plus feed) that last used head ``g`` up to job ``prev``; -1: none in this plan.

    What was unloaded by the plan's start is told by the head's own state.
    """
    j = prev
    while j >= 0 and S.unload_end[j] > 0:
        if S.head[2 * j] == g:
            return 2 * j
        if P.j_feeds[j] == 2 and S.head[2 * j + 1] == g:
            return 2 * j + 1
        j = S.before[j]
    return -1


def swap_needed(P: Problem, S: State, prev: int, g: int, s: int, upto: int) -> int:
    """1 unless spool ``s`` is what head ``g`` last had, with nothing since; ``upto`` as in its history."""
    ref = last_on_head(P, S, prev, g)
    if ref < 0:
        if P.h_spool[g] != s:
            return 1
        base = P.chain_off[s]
        for k in range(upto):
            if S.chain_end[base + k] > 0:
                return 1
        return 0
    if S.spool[ref] != s or upto == 0:
        return 1
    return 0 if S.chain_ref[P.chain_off[s] + upto - 1] == ref else 1


def change_minutes(P: Problem, S: State, prev: int, g: int, material: int, nozzle: int, swap: int) -> int:
    """Minutes that one head adds to a changeover."""
    ref = last_on_head(P, S, prev, g)
    if ref < 0:
        had, bore = P.h_material[g], P.h_nozzle[g]
    else:
        had, bore = P.j_material[ref], S.nozzle[ref]
    minutes = 0
    if swap == 1:
        minutes += P.spool_swap_min
    if had >= 0 and had != material:
        minutes += P.purge_min[had * P.materials + material]
    if bore != nozzle:
        minutes += P.nozzle_swap_min
    return minutes


def free_from(P: Problem, S: State, j: int, p: int, prev: int) -> int:
    """No changeover of job ``j`` begins on printer ``p`` behind job ``prev`` before this."""
    floor = max(0, P.j_release[j], P.p_free[p])
    if prev >= 0 and S.unload_end[prev] > floor:
        return S.unload_end[prev]
    return floor


def find_begin(
    P: Problem,
    S: State,
    j: int,
    p: int,
    prev: int,
    ready: int,
    earliest: int,
    fixed: int,
    limit: int,
) -> int:
    """First good minute for the first layer: a hand there, chamber ready, no stop, staffed if it must be.

    Parameters
    ----------
    ready : int
        The preheat may not begin before.
    earliest : int
        The first layer may not begin before.
    fixed : int
        The one minute that counts, or -1.

    Returns
    -------
    int
        That minute, the preheat's begin in the scratch at ``HEAT``; -1 if there is none before ``limit``.
    """
    recipe = P.j_recipe[j]
    cell = recipe * P.printer_kinds + P.p_kind[p]
    from_c, since = last_heat(P, S, p, prev)
    after = P.start_min + print_minutes(P, j, p) + P.k_cool_min[cell]
    floor = ready
    begin = earliest
    for _ in range(PATIENCE):
        if fixed >= 0:
            if begin > fixed or is_free(P, S, fixed, P.start_min) == 0:
                return -1
            begin = fixed
        else:
            begin = slot_after(P, S, begin, P.start_min)
        if begin < 0 or begin + after > limit:
            return -1
        heat = heat_from(P, p, recipe, from_c, since, floor, begin)
        if heat < 0:
            begin += 1
            continue
        if P.p_unattended[p] == 0:
            if begin >= P.horizon:
                return -1
            lo, hi = P.stretch_start[begin], P.stretch_end[begin]
            if hi <= begin and after > 0:
                # Nobody is there: a start that takes no hands would be tried at each minute of the night.
                begin = P.staffed_next[begin]
                if begin >= P.horizon:
                    return -1
                continue
            if heat < lo:
                if lo > floor:
                    floor = lo
                begin = max(
                    begin + 1, floor + preheat_need(P, p, recipe, chamber_at(P, p, from_c, since, floor))
                )
                continue
            if begin + after > hi:
                if hi >= P.horizon:
                    return -1
                begin = max(begin + 1, P.staffed_next[hi])
                continue
        stop = stop_overlap(
            P.p_down_off[p], P.p_down_off[p + 1], P.down_start, P.down_end, heat, begin + after
        )
        if stop >= 0:
            if stop > floor:
                floor = stop
            begin = max(begin + 1, floor + preheat_need(P, p, recipe, chamber_at(P, p, from_c, since, floor)))
            continue
        S.t[HEAT] = heat
        return begin
    return -1


def time_job(
    P: Problem,
    S: State,
    j: int,
    p: int,
    way: int,
    s0: int,
    s1: int,
    at0: int,
    at1: int,
    prev: int,
    limit: int,
    fixed: int,
) -> int:
    """Time job ``j`` on printer ``p`` after job ``prev`` (-1: first), unloaded by ``limit``.

    Parameters
    ----------
    way : int
        Heads and nozzles, an index of ``way_head`` / ``way_nozzle``.
    s0, s1 : int
        Spools; ``s1`` is -1 for a job of one feed.
    at0, at1 : int
        Positions in the spools' histories behind which the mounts go.
    fixed : int
        Minute at which the first layer must begin, or -1 for as early as can be.

    Returns
    -------
    int
        1 with every figure in the scratch, 0 if there is no place.
    """
    feeds = P.j_feeds[j]
    t = S.t
    recipe = P.j_recipe[j]
    cell = recipe * P.printer_kinds + P.p_kind[p]
    length = print_minutes(P, j, p)
    from_c, since = last_heat(P, S, p, prev)
    first_floor = free_from(P, S, j, p, prev)
    floor = first_floor
    t[BY_SPOOL] = 0
    change = P.plate_min
    least = P.start_min + length
    for f in range(feeds):
        s = s0 if f == 0 else s1
        at = at0 if f == 0 else at1
        g = P.p_head_off[p] + P.way_head[2 * way + f]
        rest = rest_from(P, S, s, at)
        if rest > floor:
            floor = rest
        t[DRY + f * DRY_STEP + NEEDED] = 0
        if P.s_needs_drying[s] == 1:
            exposed = exposure_at(P, S, s, at)
            if exposed < 0 or exposed > P.s_open[s]:
                t[DRY + f * DRY_STEP + NEEDED] = 1
        swap = swap_needed(P, S, prev, g, s, at)
        if t[DRY + f * DRY_STEP + NEEDED] == 1:
            swap = 1
        change += change_minutes(P, S, prev, g, P.j_material[2 * j + f], P.way_nozzle[2 * way + f], swap)
    if floor > first_floor:
        t[BY_SPOOL] = 1
    if (
        floor + change + P.p_bed_heat[p] + P.r_soak[recipe] + least + P.k_cool_min[cell] + P.unload_min
        > limit
    ):
        return 0
    end_after0 = 0
    end_after1 = 0
    lead = 0
    push = 0
    pushed = -1
    pushes = 0
    for _ in range(PATIENCE):
        ready = floor
        dry = 0
        for k in range(feeds):
            f = k if lead == 0 else 1 - k
            if t[DRY + f * DRY_STEP + NEEDED] == 0:
                continue
            s = s0 if f == 0 else s1
            at = at0 if f == 0 else at1
            end_after = end_after0 if f == 0 else end_after1
            if k == 0:
                dried = dry_feed(P, S, j, f, s, at, end_after, limit)
            else:
                dried = dry_beside(P, S, j, f, s, at, end_after, limit)
            if dried < 0:
                t[BY_SPOOL] = 1
                return 0
            dry = max(dry, dried)
        if feeds == 2 and lead == 0 and t[DRY + NEEDED] == 1 and t[DRY + DRY_STEP + NEEDED] == 1:
            if t[DRY] == -1 and t[DRY + DRY_STEP] == -1:
                dry = dry_together(P, S, j, s0, s1, at0, at1, max(end_after0, end_after1), dry)
        if dry > ready:
            ready = dry
            t[BY_SPOOL] = 1
        first = attended_after(P, S, p, ready, change)
        if first < 0 or first + change > limit:
            return 0
        heat = first + change
        earliest = heat + preheat_need(P, p, recipe, chamber_at(P, p, from_c, since, heat))
        if push > earliest:
            earliest = push
        begin = find_begin(P, S, j, p, prev, heat, earliest, fixed, limit)
        if begin < 0:
            if pushed < 0:
                return 0
            # Put off for the sake of a spool, it would begin too late; so that spool is dried instead.
            t[pushed + NEEDED] = 1
            push = 0
            pushed = -1
            change = change_with_drying(P, S, j, p, way, s0, s1, at0, at1, prev)
            continue
        printed = begin + P.start_min + length
        latest = t[HEAT]
        shelf0 = NEVER
        shelf1 = NEVER
        # Mounted in dry air but stored in the room: the shelf counts, so don't mount too late.
        for f in range(feeds):
            s = s0 if f == 0 else s1
            g = P.p_head_off[p] + P.way_head[2 * way + f]
            if (
                P.s_needs_drying[s] == 1
                and P.s_open[s] < NEVER
                and P.dry_storage == 0
                and P.h_dry_feed[g] == 1
            ):
                at = at0 if f == 0 else at1
                if t[DRY + f * DRY_STEP + NEEDED] == 1:
                    bound = t[DRY + f * DRY_STEP + 3] + P.s_open[s] + change
                else:
                    bound = rest_from(P, S, s, at) + P.s_open[s] - exposure_at(P, S, s, at) + change
                if f == 0:
                    shelf0 = bound
                else:
                    shelf1 = bound
                if bound < latest:
                    latest = bound
                    t[BY_SPOOL] = 1
        start = attended_before(P, S, p, latest, change, ready)
        again = 0
        for f in range(feeds):
            s = s0 if f == 0 else s1
            if P.s_needs_drying[s] == 0:
                continue
            at = at0 if f == 0 else at1
            g = P.p_head_off[p] + P.way_head[2 * way + f]
            slot = DRY + f * DRY_STEP
            if t[slot + NEEDED] == 1:
                rest, exposed = t[slot + 3], 0
            else:
                rest, exposed = rest_from(P, S, s, at), exposure_at(P, S, s, at)
            if start < 0:
                # Only the tightest shelf bound can have caused this: dry that spool again, or later.
                if (shelf0 if f == 0 else shelf1) <= latest:
                    again = 1
                    if t[slot + NEEDED] == 0:
                        t[slot + NEEDED] = 1
                    elif f == 0:
                        end_after0 = max(end_after0, rest + 1, first - P.s_open[s])
                    else:
                        end_after1 = max(end_after1, rest + 1, first - P.s_open[s])
                continue
            if P.s_open[s] >= NEVER:
                continue
            spent = exposed
            if P.dry_storage == 0:
                spent += start - rest
            if P.h_dry_feed[g] == 0:
                spent += printed - start
            over = spent - P.s_open[s]
            if over <= 0:
                continue
            again = 1
            t[BY_SPOOL] = 1
            if P.dry_storage == 1:
                # Only the mount counts: begin later after a later changeover, or dry again.
                if (
                    P.h_dry_feed[g] == 1
                    or exposed + change + least + P.p_bed_heat[p] + P.r_soak[recipe] > P.s_open[s]
                ):
                    if t[slot + NEEDED] == 1:
                        return 0
                    t[slot + NEEDED] = 1
                else:
                    if fixed >= 0:
                        if t[slot + NEEDED] == 1:
                            return 0
                        t[slot + NEEDED] = 1
                        continue
                    if t[slot + NEEDED] == 0:
                        pushes += 1
                    later = attended_after(P, S, p, start + over, change)
                    if later < 0 or pushes > PUSHES:
                        if t[slot + NEEDED] == 1:
                            return 0
                        t[slot + NEEDED] = 1
                        push = 0
                        pushed = -1
                        pushes = 0
                        continue
                    if t[slot + NEEDED] == 0:
                        pushed = slot
                    need = preheat_need(P, p, recipe, chamber_at(P, p, from_c, since, later + change))
                    if later + change + need > push:
                        push = later + change + need
                    if begin + 1 > push:
                        push = begin + 1
            elif t[slot + NEEDED] == 0:
                t[slot + NEEDED] = 1
            elif f == 0 and lead == 0 and feeds == 2 and chases(S) == 1:
                # Dried later it would only push the second; so that one goes first.
                lead = 1
                end_after0 = 0
                end_after1 = 0
            elif f == 0:
                end_after0 = max(end_after0 + 1, t[slot + 3] + over)
            else:
                end_after1 = max(end_after1 + 1, t[slot + 3] + over)
        if again == 1:
            # A spool dried again has left its head.
            change = change_with_drying(P, S, j, p, way, s0, s1, at0, at1, prev)
            continue
        if start < 0:
            return 0
        t[CHANGE] = start
        t[CHANGE_END] = start + change
        t[BEGIN] = begin
        t[PRINT] = begin + P.start_min
        t[PRINT_END] = printed
        t[COOL_END] = printed + P.k_cool_min[cell]
        return time_tail(P, S, j, p, limit)
    return 0


def time_tail(P: Problem, S: State, j: int, p: int, limit: int) -> int:
    """Time what follows the cooldown in the scratch, put off by chance if there is time; as `time_end`."""
    t = S.t
    if time_end(P, S, j, p, limit, 0, 0) == 0:
        return 0
    if t[ROUGH] == 1:
        return 1
    spare = P.j_due[j] - t[DONE]
    if spare > 0 and (t[UNLOAD_LATER] > 0 or t[BAKE_LATER] > 0):
        later = time_end(P, S, j, p, limit, min(spare, t[UNLOAD_LATER]), min(spare, t[BAKE_LATER]))
        if later == 0 or t[DONE] > P.j_due[j]:
            time_end(P, S, j, p, limit, 0, 0)
    return 1


def time_end(P: Problem, S: State, j: int, p: int, limit: int, unload_later: int, bake_later: int) -> int:
    """Time unload and anneal behind the cooldown in the scratch; 1 if they have a place."""
    t = S.t
    unload = attended_after(P, S, p, t[COOL_END] + unload_later, P.unload_min)
    if unload < 0 or unload + P.unload_min > limit:
        return 0
    t[UNLOAD] = unload
    t[UNLOAD_END] = unload + P.unload_min
    done = t[UNLOAD_END]
    if P.j_anneal[j] >= 0 and t[ROUGH] == 1:
        done += P.an_min[P.j_anneal[j]]
        if t[MEMO_ON] == 1:
            done = max(done, anneal_no_sooner(S, t[UNLOAD_END]))
    elif P.j_anneal[j] >= 0:
        if find_anneal_again(P, S, P.j_anneal[j], done + bake_later, BAKE) == 0:
            return 0
        done = t[BAKE + 3]
    t[DONE] = done + P.j_finish[j]
    return 1


def change_with_drying(
    P: Problem, S: State, j: int, p: int, way: int, s0: int, s1: int, at0: int, at1: int, prev: int
) -> int:
    change = P.plate_min
    for f in range(P.j_feeds[j]):
        s = s0 if f == 0 else s1
        at = at0 if f == 0 else at1
        g = P.p_head_off[p] + P.way_head[2 * way + f]
        swap = swap_needed(P, S, prev, g, s, at)
        if S.t[DRY + f * DRY_STEP + NEEDED] == 1:
            swap = 1
        change += change_minutes(P, S, prev, g, P.j_material[2 * j + f], P.way_nozzle[2 * way + f], swap)
    return change
