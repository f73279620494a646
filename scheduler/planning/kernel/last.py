"""The last chance of a job that found no place: every printer, gap, head, nozzle and spool."""

from __future__ import annotations

from scheduler.planning.kernel.chain import first_from
from scheduler.planning.kernel.choose import next_change
from scheduler.planning.kernel.heat import print_minutes
from scheduler.planning.kernel.place import commit
from scheduler.planning.kernel.score import least_on
from scheduler.planning.kernel.spools import GRAM_TOLERANCE, lot_asked
from scheduler.planning.kernel.tables import CLOSED, NEVER, Problem, State
from scheduler.planning.kernel.timing import BEGIN, time_job

#: About how many later starts are tried in one gap, the latest first.
LATER = 48


def is_usable(P: Problem, S: State, j: int, f: int, s: int, lot: int) -> int:
    """1 if the spool has enough left for feed ``f``, of the lot to which the job is bound."""
    if S.left_g[s] + GRAM_TOLERANCE < P.j_grams[2 * j + f]:
        return 0
    return 1 if lot == -1 or (lot >= 0 and P.s_lot[s] == lot) else 0


def has_usable(P: Problem, S: State, j: int, f: int) -> int:
    """1 if any spool is usable for feed ``f``."""
    lot = lot_asked(P, S, j) if f == 0 else -1
    for k in range(P.cand_lo[2 * j + f], P.cand_hi[2 * j + f]):
        if is_usable(P, S, j, f, P.cand[k], lot) == 1:
            return 1
    return 0


def next_cut(P: Problem, S: State, s: int, after: int) -> int:
    """Where the spool's next use after minute ``after`` begins; `NEVER` if there is none."""
    base = P.chain_off[s]
    for k in range(S.chain_n[s]):
        if S.chain_start[base + k] > after:
            return S.chain_start[base + k]
    return NEVER


def try_between(
    P: Problem, S: State, j: int, p: int, way: int, s0: int, s1: int, prev: int, after: int, since: int
) -> int:
    """Try a gap with given heads and spools, between each two uses of the spools; 1 if it took the job."""
    limit = NEVER
    if after >= 0:
        limit = S.change_end[after] - next_change(P, S, j, p, way, s0, s1, after)
    cut = since
    while cut < limit:
        following = next_cut(P, S, s0, cut)
        if s1 >= 0:
            following = min(following, next_cut(P, S, s1, cut))
        cut = min(following, limit)
        at0 = first_from(P, S, s0, cut)
        at1 = first_from(P, S, s1, cut) if s1 >= 0 else 0
        if time_job(P, S, j, p, way, s0, s1, at0, at1, prev, cut, -1) == 1:
            soonest = S.t[BEGIN]
            if commit(P, S, j, p, way, s0, s1, prev) == 1:
                return 1
            # A later use of its spools may not bear that they are out so soon, or for so long.
            after = P.start_min + print_minutes(P, j, p)
            after += P.k_cool_min[P.j_recipe[j] * P.printer_kinds + P.p_kind[p]] + P.unload_min
            begin = min(cut, P.horizon) - after
            step = max(1, (begin - soonest) // LATER)
            while begin > soonest:
                if time_job(P, S, j, p, way, s0, s1, at0, at1, prev, cut, begin) == 1:
                    if commit(P, S, j, p, way, s0, s1, prev) == 1:
                        return 1
                begin -= step
    return 0


def place_anywhere(P: Problem, S: State, j: int) -> int:
    """Put job ``j`` into the first place that takes it; 1 if there is one."""
    if has_usable(P, S, j, 0) == 0 or (P.j_feeds[j] == 2 and has_usable(P, S, j, 1) == 0):
        return 0
    lot = lot_asked(P, S, j)
    fit = P.j_fit[j]
    for i in range(P.fit_off[fit], P.fit_off[fit + 1]):
        p = P.fit_printer[i]
        least = least_on(P, S, j, p)
        prev = -1
        after = S.first[p]
        while True:
            since = max(0, P.j_release[j], P.p_free[p])
            if prev >= 0 and S.unload_end[prev] > since:
                since = S.unload_end[prev]
            room = (S.change_end[after] if after >= 0 else P.horizon) - since
            if room >= least and (after < 0 or S.fixed[after] < CLOSED):
                for way in range(P.way_off[P.fit_ways[i]], P.way_off[P.fit_ways[i] + 1]):
                    for k0 in range(P.cand_lo[2 * j], P.cand_hi[2 * j]):
                        s0 = P.cand[k0]
                        if is_usable(P, S, j, 0, s0, lot) == 0:
                            continue
                        if P.j_feeds[j] == 1:
                            if try_between(P, S, j, p, way, s0, -1, prev, after, since) == 1:
                                return 1
                            continue
                        for k1 in range(P.cand_lo[2 * j + 1], P.cand_hi[2 * j + 1]):
                            s1 = P.cand[k1]
                            if s1 == s0 or is_usable(P, S, j, 1, s1, -1) == 0:
                                continue
                            if try_between(P, S, j, p, way, s0, s1, prev, after, since) == 1:
                                return 1
            if after < 0:
                break
            prev = after
            after = S.after[after]
    return 0
