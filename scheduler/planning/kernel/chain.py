"""A spool's history: its drying runs and mounts in time order, and the water it takes up between."""

from __future__ import annotations

from scheduler.planning.kernel.tables import NEVER, Problem, State


def first_from(P: Problem, S: State, s: int, minute: int) -> int:
    """Position of the spool's first entry that starts at or after ``minute``."""
    base = P.chain_off[s]
    k = S.chain_n[s]
    while k > 0 and S.chain_start[base + k - 1] >= minute:
        k -= 1
    return k


def put_entry(P: Problem, S: State, s: int, start: int, end: int, ref: int) -> int:
    """Add an entry in time order; 0 if the history is full."""
    n = S.chain_n[s]
    if n >= P.chain_off[s + 1] - P.chain_off[s]:
        return 0
    base = P.chain_off[s]
    k = n
    while k > 0 and S.chain_start[base + k - 1] > start:
        S.chain_start[base + k] = S.chain_start[base + k - 1]
        S.chain_end[base + k] = S.chain_end[base + k - 1]
        S.chain_ref[base + k] = S.chain_ref[base + k - 1]
        k -= 1
    S.chain_start[base + k] = start
    S.chain_end[base + k] = end
    S.chain_ref[base + k] = ref
    S.chain_n[s] = n + 1
    return 1


def drop_entry(P: Problem, S: State, s: int, ref: int) -> None:
    """Take out the entry ``ref``."""
    base = P.chain_off[s]
    n = S.chain_n[s]
    k = n - 1
    while S.chain_ref[base + k] != ref:
        k -= 1
    while k < n - 1:
        S.chain_start[base + k] = S.chain_start[base + k + 1]
        S.chain_end[base + k] = S.chain_end[base + k + 1]
        S.chain_ref[base + k] = S.chain_ref[base + k + 1]
        k += 1
    S.chain_n[s] = n - 1


def shift_entry(P: Problem, S: State, s: int, ref: int, start: int) -> None:
    """Let the entry ``ref`` start at another minute, its order unchanged."""
    base = P.chain_off[s]
    for k in range(S.chain_n[s]):
        if S.chain_ref[base + k] == ref:
            S.chain_start[base + k] = start


def runs_among(P: Problem, S: State, s: int, upto: int) -> int:
    """How many drying runs lie before position ``upto``, those begun and over included."""
    base = P.chain_off[s]
    count = P.s_runs_before[s]
    for k in range(upto):
        if S.chain_ref[base + k] < 0:
            count += 1
    return count


def recipe_for(P: Problem, S: State, s: int, at: int, b: int, set_c: float, length: int) -> int:
    """Index of the longest recipe of spool ``s`` on machine ``b`` that a run of ``length`` serves, or -1."""
    first = runs_among(P, S, s, at) == 0
    dry_class = P.s_dry_first[s] if first else P.s_dry_next[s]
    found = -1
    for d in range(P.dry_off[dry_class], P.dry_off[dry_class + 1]):
        if P.dry_machine[d] == b and P.dry_set_c[d] == set_c and P.dry_min[d] <= length:
            if found < 0 or P.dry_min[d] > P.dry_min[found]:
                found = d
    return found


def exposure_at(P: Problem, S: State, s: int, upto: int) -> int:
    """Exposure of spool ``s`` at the end of entry ``upto - 1`` (or at its arrival), minutes; -1 while wet.

    The minute it speaks of is `rest_from`.
    """
    dried = P.s_dried[s]
    exposed = P.s_exposed[s]
    at = P.s_from[s]
    base = P.chain_off[s]
    for k in range(upto):
        start = S.chain_start[base + k]
        end = S.chain_end[base + k]
        ref = S.chain_ref[base + k]
        if ref < 0:
            if end >= 0:
                dried = 1
                exposed = 0
        elif dried == 1:
            if P.dry_storage == 0 and start > at:
                exposed += start - at
            if P.h_dry_feed[S.head[ref]] == 0:
                since = start if start > at else at
                if end > since:
                    exposed += end - since
        if end > at:
            at = end
    if dried == 0:
        return -1
    return exposed


def rest_from(P: Problem, S: State, s: int, upto: int) -> int:
    """Minute from which the spool rests after entry ``upto - 1``: its arrival, or that entry's end."""
    at = P.s_from[s]
    if upto > 0:
        end = S.chain_end[P.chain_off[s] + upto - 1]
        if end > at:
            at = end
    return at


def first_broken(P: Problem, S: State, s: int) -> int:
    """The first mount in the spool's history that breaks a rule beside the other entries.

    Looks at overlaps, and at dryness and exposure of every mount not begun. Whether a changeover
    still has its length is for `scheduler.planning.kernel.place` to see.

    Returns
    -------
    int
        Its job times two plus feed; -1 if all hold, -2 if two drying runs overlap.
    """
    base = P.chain_off[s]
    n = S.chain_n[s]
    for k in range(1, n):
        if S.chain_start[base + k] < S.chain_end[base + k - 1] and S.chain_start[base + k] >= 0:
            if S.chain_ref[base + k] >= 0:
                return S.chain_ref[base + k]
            if S.chain_ref[base + k - 1] >= 0:
                return S.chain_ref[base + k - 1]
            return -2
    if P.s_needs_drying[s] == 0:
        return -1
    for k in range(n):
        ref = S.chain_ref[base + k]
        if ref < 0:
            continue
        j = ref // 2
        if S.print_start[j] < 0 or S.change[j] < 0:
            continue
        exposed = exposure_at(P, S, s, k)
        if exposed < 0:
            return ref
        if P.s_open[s] < NEVER:
            start = S.chain_start[base + k]
            at = rest_from(P, S, s, k)
            if P.dry_storage == 0 and start > at:
                exposed += start - at
            if P.h_dry_feed[S.head[ref]] == 0:
                exposed += S.print_end[j] - start
            if exposed > P.s_open[s]:
                return ref
    return -1


def chain_holds(P: Problem, S: State, s: int) -> int:
    """1 if every entry of the spool's history keeps its rules beside the others."""
    return 1 if first_broken(P, S, s) == -1 else 0
