"""Which spools are worth a try for a feed, and when they can be had."""

from __future__ import annotations

from scheduler.planning.kernel.bake import MEMO_ON, dried_by, dried_no_sooner
from scheduler.planning.kernel.score import CERTIFICATE
from scheduler.planning.kernel.tables import NEVER, Floats, Problem, State
from scheduler.planning.kernel.timing import last_on_head

#: Spools tried for one feed.
TRIES = 4
GRAM_TOLERANCE = 1e-9


def lot_asked(P: Problem, S: State, j: int) -> int:
    """The lot to which placed partners bind the job's first feed: -1 none, -2 no single one."""
    lot = -1
    partner = P.j_same_lot[j]
    if partner >= 0 and S.printer[partner] >= 0:
        lot = P.s_lot[S.spool[2 * partner]]
    for k in range(P.j_bound_off[j], P.j_bound_off[j + 1]):
        other = P.bound[k]
        if S.printer[other] >= 0:
            theirs = P.s_lot[S.spool[2 * other]]
            if lot >= 0 and theirs != lot:
                return -2
            lot = theirs
    return lot


def among(P: Problem, ref: int, s: int) -> int:
    """1 if the spool is among those that would do for a feed."""
    lo, hi = P.cand_lo[ref], P.cand_hi[ref]
    while lo < hi:
        mid = (lo + hi) // 2
        if P.cand[mid] < s:
            lo = mid + 1
        else:
            hi = mid
    return 1 if lo < P.cand_hi[ref] and P.cand[lo] == s else 0


def lot_serves_group(P: Problem, S: State, j: int, lot: int) -> int:
    """1 if the spools of ``lot`` that suit job ``j`` hold enough for all its tied jobs not yet placed."""
    need = 0.0
    for k in range(P.g_off[P.j_group[j]], P.g_off[P.j_group[j] + 1]):
        other = P.g_job[k]
        if S.printer[other] < 0:
            need += P.j_grams[2 * other]
    have = 0.0
    for k in range(P.lot_off[lot], P.lot_off[lot + 1]):
        s = P.lot_spool[k]
        if S.left_g[s] >= P.j_grams[2 * j] and among(P, 2 * j, s) == 1:
            have += S.left_g[s]
    return 1 if have >= need else 0


def spool_ready(P: Problem, S: State, j: int, s: int) -> int:
    """Rough minute from which the spool could be mounted for the job, with a dryer free at once."""
    ready = S.tail_rest[s]
    if P.s_needs_drying[s] == 0:
        return ready
    at = ready if ready > P.j_release[j] else P.j_release[j]
    exposed = S.tail_exposed[s]
    if exposed >= 0:
        if P.s_open[s] >= NEVER:
            return ready
        if P.dry_storage == 0:
            exposed += at - ready
        if exposed + P.j_print[j] <= P.s_open[s]:
            return ready
    dry_class = P.s_dry_first[s]
    if P.s_dry_first[s] != P.s_dry_next[s]:
        for k in range(P.chain_off[s], P.chain_off[s] + S.chain_n[s]):
            if S.chain_ref[k] < 0:
                dry_class = P.s_dry_next[s]
    if P.dry_off[dry_class] == P.dry_off[dry_class + 1]:
        return NEVER
    return ready + P.dry_min[P.dry_off[dry_class]]


def dry_soonest(P: Problem, S: State, s: int) -> int:
    """No sooner than this is the spool dry behind its last use; 0 if it may be so already."""
    if P.s_needs_drying[s] == 0 or (S.tail_exposed[s] >= 0 and S.tail_exposed[s] <= P.s_open[s]):
        return 0
    least = NEVER
    for c in range(2):
        dry_class = P.s_dry_first[s] if c == 0 else P.s_dry_next[s]
        k = P.dry_off[dry_class]
        if k < P.dry_off[dry_class + 1] and P.dry_min[k] < least:
            least = P.dry_min[k]
    dried = S.tail_rest[s] + least
    if S.t[MEMO_ON] == 1 and P.s_dry_first[s] == P.s_dry_next[s]:
        return max(dried, dried_no_sooner(S, P.s_dry_first[s], max(0, S.tail_rest[s])))
    return dried


def shortlist(P: Problem, S: State, j: int, f: int, W: Floats) -> int:
    """Note the spools worth a try for feed ``f``, soonest ready first; how many they are."""
    ref = 2 * j + f
    lot = lot_asked(P, S, j) if f == 0 else -1
    if lot == -2:
        return 0
    base = f * TRIES
    count = 0
    for k in range(P.cand_lo[ref], P.cand_hi[ref]):
        s = P.cand[k]
        if S.left_g[s] + GRAM_TOLERANCE < P.j_grams[ref] or (lot >= 0 and P.s_lot[s] != lot):
            continue
        key = float(spool_ready(P, S, j, s))
        if key >= NEVER:
            continue
        key += 60.0 * W[CERTIFICATE] * P.s_certs[s] + 0.001 * S.left_g[s]
        if f == 0 and lot < 0 and P.j_group[j] >= 0 and lot_serves_group(P, S, j, P.s_lot[s]) == 0:
            key += 100000.0
        if S.chain_n[s] == 0:
            # Of untouched twins only the one with the least left.
            twin = -1
            for m in range(count):
                other = S.short[base + m]
                if S.chain_n[other] == 0 and P.s_twin[other] == P.s_twin[s]:
                    twin = m
            if twin >= 0:
                if S.left_g[S.short[base + twin]] <= S.left_g[s]:
                    continue
                for m in range(twin, count - 1):
                    S.short[base + m] = S.short[base + m + 1]
                    S.short[2 * TRIES + base + m] = S.short[2 * TRIES + base + m + 1]
                count -= 1
        whole = int(key)
        if count == TRIES and S.short[2 * TRIES + base + count - 1] <= whole:
            continue
        m = count if count < TRIES else TRIES - 1
        while m > 0 and S.short[2 * TRIES + base + m - 1] > whole:
            S.short[base + m] = S.short[base + m - 1]
            S.short[2 * TRIES + base + m] = S.short[2 * TRIES + base + m - 1]
            m -= 1
        S.short[base + m] = s
        S.short[2 * TRIES + base + m] = whole
        if count < TRIES:
            count += 1
    return count


def is_candidate(P: Problem, S: State, j: int, f: int, s: int) -> int:
    """1 if the spool would do for feed ``f`` and has enough left."""
    ref = 2 * j + f
    if S.left_g[s] + GRAM_TOLERANCE < P.j_grams[ref]:
        return 0
    if f == 0:
        lot = lot_asked(P, S, j)
        if lot != -1 and lot != P.s_lot[s]:
            return 0
        if lot < 0 and P.j_group[j] >= 0:
            return 0
    return among(P, ref, s)


def ready_by(P: Problem, S: State, s: int, minute: int) -> int:
    """1 if the spool can surely be had, and dry, at that minute behind its last use."""
    if S.tail_rest[s] > minute:
        return 0
    if P.s_needs_drying[s] == 0 or (S.tail_exposed[s] >= 0 and S.tail_exposed[s] <= P.s_open[s]):
        return 1
    if P.s_dry_first[s] != P.s_dry_next[s]:
        return 0
    return 1 if dried_by(S, P.s_dry_first[s], max(0, S.tail_rest[s])) <= minute else 0


def spool_after(P: Problem, S: State, after: int, g: int) -> int:
    """The spool on head ``g`` for job ``after``, -1 if there is none."""
    if after >= 0:
        for f in range(P.j_feeds[after]):
            if S.head[2 * after + f] == g:
                return S.spool[2 * after + f]
    return -1


def mounted_spool(P: Problem, S: State, prev: int, g: int) -> int:
    """The spool last on head ``g`` up to job ``prev``, -1 if unknown."""
    ref = last_on_head(P, S, prev, g)
    return P.h_spool[g] if ref < 0 else S.spool[ref]
