"""Where a job goes best: every printer that fits, every gap, the heads and spools worth a try."""

from __future__ import annotations

from scheduler.planning.kernel.bake import BAKED_N, MEMO_N, MEMO_ON
from scheduler.planning.kernel.chain import first_from
from scheduler.planning.kernel.dice import chance, roll
from scheduler.planning.kernel.place import commit
from scheduler.planning.kernel.score import (
    STICK,
    WHIM,
    YIELD,
    deadline,
    least_on,
    least_score,
    score_of,
    soonest_on,
    soonest_unload,
)
from scheduler.planning.kernel.spools import (
    TRIES,
    dry_soonest,
    is_candidate,
    mounted_spool,
    ready_by,
    shortlist,
    spool_after,
)
from scheduler.planning.kernel.tables import NEVER, Floats, Problem, State
from scheduler.planning.kernel.timing import (
    BAKE_LATER,
    BY_SPOOL,
    ROUGH,
    UNLOAD_LATER,
    change_minutes,
    free_from,
    last_on_head,
    time_job,
    time_tail,
)

#: Minutes that a step may leave to others: so many, doubled up to so often.
SHORTEST_WAIT, WAITS = 4, 8

# Scratch: the best choice so far.
C_PRINTER, C_WAY, C_S0, C_S1, C_AT0, C_AT1, C_PREV, C_LIMIT = range(50, 58)
#: And the places that could not be had after all: how many, then printer and job before, in pairs.
REFUSED = 60
REFUSED_MOST = 4
#: Last minute of an unload that is of use, plus one; 0 for any.
UNTIL = 149
#: 0 if the last choice tried waited for none of its spools. By the swaps that spools save (see `swaps_saved`;
#: four times that for the second feed), the fewest certificates with which one did not.
HUNG, SETTLED = 178, 180


def next_change(P: Problem, S: State, j: int, p: int, way: int, s0: int, s1: int, after: int) -> int:
    """Length of job ``after``'s changeover if ``j`` came right before it."""
    minutes = P.plate_min
    for f in range(P.j_feeds[after]):
        ref = 2 * after + f
        g = S.head[ref]
        mine = -1
        for e in range(P.j_feeds[j]):
            if P.p_head_off[p] + P.way_head[2 * way + e] == g:
                mine = e
        if mine < 0:
            base = P.chain_off[S.spool[ref]]
            at = 0
            while S.chain_ref[base + at] != ref:
                at += 1
            prev = last_on_head(P, S, S.before[after], g)
            swap = 1
            if prev >= 0 and S.spool[prev] == S.spool[ref] and at > 0 and S.chain_ref[base + at - 1] == prev:
                swap = 0
            if prev < 0 and P.h_spool[g] == S.spool[ref] and at == 0:
                swap = 0
            minutes += change_minutes(P, S, S.before[after], g, P.j_material[ref], S.nozzle[ref], swap)
        else:
            s = s0 if mine == 0 else s1
            if s != S.spool[ref] or S.run[ref] >= 0:
                minutes += P.spool_swap_min
            had, new = P.j_material[2 * j + mine], P.j_material[ref]
            if had != new:
                minutes += P.purge_min[had * P.materials + new]
            if P.way_nozzle[2 * way + mine] != S.nozzle[ref]:
                minutes += P.nozzle_swap_min
    return minutes


def nozzle_swaps(P: Problem, S: State, j: int, p: int, prev: int, way: int) -> int:
    """How many nozzles a way would have to change."""
    swaps = 0
    for f in range(P.j_feeds[j]):
        g = P.p_head_off[p] + P.way_head[2 * way + f]
        ref = last_on_head(P, S, prev, g)
        bore = P.h_nozzle[g] if ref < 0 else S.nozzle[ref]
        if bore != P.way_nozzle[2 * way + f]:
            swaps += 1
    return swaps


def try_gap(
    P: Problem,
    S: State,
    j: int,
    p: int,
    ways: int,
    prev: int,
    after: int,
    n0: int,
    n1: int,
    best: float,
    W: Floats,
) -> float:
    """Try one gap with the ways and spools worth it; the better of ``best`` and what it found."""
    w = P.way_off[ways]
    while w < P.way_off[ways + 1]:
        # Of the ways on the same heads, the one with the fewest nozzle changes.
        pick, fewest = w, 99
        v = w
        while (
            v < P.way_off[ways + 1]
            and P.way_head[2 * v] == P.way_head[2 * w]
            and (P.j_feeds[j] == 1 or P.way_head[2 * v + 1] == P.way_head[2 * w + 1])
        ):
            swaps = nozzle_swaps(P, S, j, p, prev, v)
            if swaps < fewest:
                pick, fewest = v, swaps
            v += 1
        w = v
        g0 = P.p_head_off[p] + P.way_head[2 * pick]
        on0, next0 = mounted_spool(P, S, prev, g0), spool_after(P, S, after, g0)
        on1, next1 = -1, -1
        if P.j_feeds[j] == 2:
            g1 = P.p_head_off[p] + P.way_head[2 * pick + 1]
            on1, next1 = mounted_spool(P, S, prev, g1), spool_after(P, S, after, g1)
        for k in range(16):
            S.t[SETTLED + k] = NEVER
        for i0 in range(-1, n0):
            s0 = on0 if i0 < 0 else S.short[i0]
            if i0 < 0:
                if s0 < 0 or is_candidate(P, S, j, 0, s0) == 0:
                    continue
            elif s0 == on0:
                continue
            for i1 in range(-1, n1 if P.j_feeds[j] == 2 else 0):
                s1 = -1
                if P.j_feeds[j] == 2:
                    s1 = on1 if i1 < 0 else S.short[TRIES + i1]
                    if i1 < 0:
                        if s1 < 0 or is_candidate(P, S, j, 1, s1) == 0:
                            continue
                    elif s1 == on1:
                        continue
                    if s1 == s0:
                        continue
                swaps, certificates = swaps_saved(s0, on0, next0), P.s_certs[s0]
                if s1 >= 0:
                    swaps += 4 * swaps_saved(s1, on1, next1)
                    certificates += P.s_certs[s1]
                if S.t[SETTLED + swaps] <= certificates and is_like(P, S, j, p, prev, s0, s1) == 1:
                    continue
                best = try_spools(P, S, j, p, pick, prev, after, s0, s1, best, W)
                if S.t[HUNG] == 0:
                    S.t[SETTLED + swaps] = certificates
    return best


def swaps_saved(s: int, on: int, following: int) -> int:
    """Whether the spool is on the head already (1), and stays for who follows (2)."""
    return (1 if s == on else 0) + (2 if s == following else 0)


def is_like(P: Problem, S: State, j: int, p: int, prev: int, s0: int, s1: int) -> int:
    """1 if the job would wait for none of these spools: then they do no better than others like that."""
    free = free_from(P, S, j, p, prev)
    if ready_by(P, S, s0, free) == 0:
        return 0
    return 1 if s1 < 0 else ready_by(P, S, s1, free)


def try_spools(
    P: Problem,
    S: State,
    j: int,
    p: int,
    way: int,
    prev: int,
    after: int,
    s0: int,
    s1: int,
    best: float,
    W: Floats,
) -> float:
    """Try one choice whole; note it in the scratch if it beats ``best``."""
    t = S.t
    t[HUNG] = 1
    limit = NEVER
    if after >= 0:
        limit = S.change_end[after] - next_change(P, S, j, p, way, s0, s1, after)
    at0 = first_from(P, S, s0, limit)
    at1 = first_from(P, S, s1, limit) if s1 >= 0 else 0
    least = least_on(P, S, j, p)
    certificates = P.s_certs[s0]
    if s1 >= 0:
        certificates += P.s_certs[s1]
    rough = 1 if P.j_anneal[j] >= 0 or t[UNLOAD_LATER] > 0 or t[BAKE_LATER] > 0 else 0
    hopeless = 0
    if at0 == S.chain_n[s0] and (s1 < 0 or at1 == S.chain_n[s1]):
        # No use of its spools is left behind: they can't be had before this.
        ready = max(S.tail_rest[s0], free_from(P, S, j, p, prev))
        if s1 >= 0 and S.tail_rest[s1] > ready:
            ready = S.tail_rest[s1]
        dried = dry_soonest(P, S, s0)
        if s1 >= 0:
            dried = max(dried, dry_soonest(P, S, s1))
        if dried > ready:
            ready = dried
        last = min(limit, deadline(P, j, p, least, certificates, best, W))
        if t[UNTIL] > 0 and t[UNTIL] - 1 < last:
            last = t[UNTIL] - 1
        if ready + least > last or soonest_unload(P, j, p, ready) > last:
            hopeless = 1
    for late in range(2):
        if late == 1:
            # Behind the last job of the printer, but before a later use of the spool elsewhere.
            if after >= 0 or s1 >= 0 or at0 == 0:
                break
            at0 = first_from(P, S, s0, free_from(P, S, j, p, prev))
            if at0 == S.chain_n[s0]:
                break
            limit = S.chain_start[P.chain_off[s0] + at0]
        elif hopeless == 1:
            continue
        by = deadline(P, j, p, least, certificates, best, W)
        if limit < by:
            by = limit
        if t[UNTIL] > 0 and t[UNTIL] - 1 < by:
            by = t[UNTIL] - 1
        # What is behind the cooldown is looked at only for what could be better without.
        t[ROUGH] = rough
        timed = time_job(P, S, j, p, way, s0, s1, at0, at1, prev, by, -1)
        t[ROUGH] = 0
        if late == 0:
            t[HUNG] = t[BY_SPOOL]
        if timed == 1:
            score = score_of(P, S, j, p, prev, s0, s1, W)
            if score < best and rough == 1 and time_tail(P, S, j, p, by) == 1:
                score = score_of(P, S, j, p, prev, s0, s1, W)
            elif rough == 1:
                continue
            if score < best:
                best = score
                t[C_PRINTER] = p
                t[C_WAY] = way
                t[C_S0] = s0
                t[C_S1] = s1
                t[C_AT0] = at0
                t[C_AT1] = at1
                t[C_PREV] = prev
                t[C_LIMIT] = limit
    return best


def place_best(P: Problem, S: State, j: int, W: Floats, most: int, gaps: int, again: int) -> int:
    """Put job ``j`` where it scores best.

    Parameters
    ----------
    most : int
        How many printers are looked at, those of the lowest bounds first.
    gaps : int
        1 to look into gaps between placed jobs too, 0 for the ends of the printers' rows alone.
    again : int
        How often the next best place is looked for when one can't be had after all, `REFUSED_MOST`
        at most; the last time only at the ends of rows.

    Returns
    -------
    int
        1, or 0 if no place was found.
    """
    n0 = shortlist(P, S, j, 0, W)
    n1 = shortlist(P, S, j, 1, W) if P.j_feeds[j] == 2 else 1
    if n0 == 0 or n1 == 0:
        return 0
    S.t[REFUSED] = 0
    if S.weights[YIELD] > 0.0:
        S.t[UNLOAD_LATER] = wait(S)
        S.t[BAKE_LATER] = wait(S)
    found = place_among(P, S, j, W, most, gaps, again, n0, n1)
    S.t[UNLOAD_LATER] = 0
    S.t[BAKE_LATER] = 0
    return found


def wait(S: State) -> int:
    """By how many minutes a step leaves its hands to others, by chance."""
    if chance(S) >= S.weights[YIELD]:
        return 0
    return SHORTEST_WAIT << roll(S, WAITS)


def place_among(
    P: Problem, S: State, j: int, W: Floats, most: int, gaps: int, again: int, n0: int, n1: int
) -> int:
    """Put job ``j`` into the best place of those that can be had; as `place_best`."""
    for k in range(again + 1):
        # What comes after a gap may not bear the job there: then the next best place.
        if choose_place(P, S, j, W, most, gaps if k < REFUSED_MOST else 0, n0, n1) == 0:
            return 0
        if commit_choice(P, S, j) == 1:
            return 1
        if k < REFUSED_MOST:
            S.t[REFUSED + 1 + 2 * k] = S.t[C_PRINTER]
            S.t[REFUSED + 2 + 2 * k] = S.t[C_PREV]
            S.t[REFUSED] = k + 1
    return 0


def is_refused(S: State, p: int, prev: int) -> int:
    """1 if the place behind ``prev`` on printer ``p`` could not be had."""
    for k in range(S.t[REFUSED]):
        if S.t[REFUSED + 1 + 2 * k] == p and S.t[REFUSED + 2 + 2 * k] == prev:
            return 1
    return 0


def choose_place(P: Problem, S: State, j: int, W: Floats, most: int, gaps: int, n0: int, n1: int) -> int:
    """Note the place of the best score in the scratch, of those not refused; 1 if there is one."""
    fit = P.j_fit[j]
    stick = S.weights[STICK]
    until = S.t[UNTIL] if S.t[UNTIL] > 0 else NEVER + 1
    for i in range(P.fit_off[fit], P.fit_off[fit + 1]):
        p = P.fit_printer[i]
        if S.weights[WHIM] > 0.0:
            S.whim[p] = S.weights[WHIM] * chance(S)
        least = least_on(P, S, j, p)
        unloaded = soonest_on(P, S, j, p, gaps, least)
        if unloaded >= until:
            S.bound[p] = 1e300
            continue
        S.bound[p] = least_score(P, j, p, unloaded, least, W)
        if stick > 0.0 and S.was[j] >= 0 and S.was[j] != p:
            S.bound[p] += stick
    best = 1e300
    S.t[C_PRINTER] = -1
    S.t[MEMO_ON] = 1
    S.t[MEMO_N] = 0
    S.t[BAKED_N] = 0
    for _ in range(most):
        lowest = best
        pick = -1
        for i in range(P.fit_off[fit], P.fit_off[fit + 1]):
            if S.bound[P.fit_printer[i]] < lowest:
                lowest = S.bound[P.fit_printer[i]]
                pick = i
        if pick < 0:
            break
        p = P.fit_printer[pick]
        S.bound[p] = 1e300
        least = least_on(P, S, j, p)
        if gaps == 1 and S.idle[p] >= least:
            prev, after = -1, S.first[p]
            while after >= 0:
                since = S.unload_end[prev] if prev >= 0 else max(0, P.p_free[p])
                since = max(since, P.j_release[j])
                if (
                    S.fixed[after] < 2
                    and S.change_end[after] - since >= least + P.plate_min
                    and least_score(P, j, p, soonest_unload(P, j, p, since), least, W) < best
                    and is_refused(S, p, prev) == 0
                ):
                    best = try_gap(P, S, j, p, P.fit_ways[pick], prev, after, n0, n1, best, W)
                prev, after = after, S.after[after]
        if is_refused(S, p, S.last[p]) == 0:
            best = try_gap(P, S, j, p, P.fit_ways[pick], S.last[p], -1, n0, n1, best, W)
    S.t[MEMO_ON] = 0
    return 0 if S.t[C_PRINTER] < 0 else 1


def commit_choice(P: Problem, S: State, j: int) -> int:
    """Time the noted choice once more and commit it."""
    t = S.t
    p, way, s0, s1, prev = t[C_PRINTER], t[C_WAY], t[C_S0], t[C_S1], t[C_PREV]
    if time_job(P, S, j, p, way, s0, s1, t[C_AT0], t[C_AT1], prev, t[C_LIMIT], -1) == 0:
        return 0
    return commit(P, S, j, p, way, s0, s1, prev)
