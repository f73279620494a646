"""Take jobs out of a plan so that what stays is a plan again."""

from __future__ import annotations

from scheduler.planning.kernel.chain import first_broken
from scheduler.planning.kernel.place import adapt, change_length, remove
from scheduler.planning.kernel.tables import BATCH, FREE, NEVER, Problem, State


def take_out(P: Problem, S: State, j: int, n: int) -> int:
    """Take job ``j`` out, the ``n``-th of this cut; how many are out then, -1 if it must stay.

    What it stood between is noted, see `close_cut`.
    """
    if S.fixed[j] != FREE:
        return -1
    after = S.after[j]
    base = 8 * n
    S.out[base] = j
    S.out[base + 1] = after
    for f in range(2):
        if f < P.j_feeds[j]:
            S.out[base + 2 + f] = S.spool[2 * j + f]
            S.out[base + 4 + f] = S.run[2 * j + f]
        else:
            S.out[base + 2 + f] = -1
            S.out[base + 4 + f] = -1
    S.out[base + 6] = S.printer[j]
    S.was[j] = S.printer[j]
    S.out[base + 7] = S.begin[j]
    remove(P, S, j)
    return n + 1


def close_cut(P: Problem, S: State, n: int, most: int) -> int:
    """Take out, after the ``n`` jobs that are, every other that no longer stands.

    Returns
    -------
    int
        How many are out in the end; -1 if one of them must stay, or if they would be more than ``most``.
    """
    k = 0
    while k < n:
        base = 8 * k
        k += 1
        other = S.out[base + 1]
        while other >= 0:
            # Jobs behind that were taken out since have their own entry.
            following = S.after[other]
            if S.printer[other] == S.out[base + 6]:
                if adapt(P, S, other) == 0:
                    if n >= most:
                        return -1
                    n = take_out(P, S, other, n)
                    if n < 0:
                        return -1
                elif P.p_head_off[S.out[base + 6] + 1] - P.p_head_off[S.out[base + 6]] == 1:
                    break
            else:
                break
            other = following
        for f in range(2):
            s = S.out[base + 2 + f]
            if s >= 0:
                n = mend_spool(P, S, s, n, most)
                if n < 0:
                    return -1
            run = S.out[base + 4 + f]
            if run >= 0:
                n = mend_run(P, S, run, n, most)
                if n < 0:
                    return -1
    return n


def mend_spool(P: Problem, S: State, s: int, n: int, most: int) -> int:
    """Take out the uses of a spool that no longer hold; as `close_cut`."""
    while True:
        ref = first_broken(P, S, s)
        if ref == -1:
            break
        if n >= most or ref < 0:
            return -1
        n = take_out(P, S, ref // 2, n)
        if n < 0:
            return -1
    base = P.chain_off[s]
    k = 0
    while k < S.chain_n[s]:
        ref = S.chain_ref[base + k]
        k += 1
        if ref < 0:
            # Its own recipes hold for what is its first run now.
            if P.s_dry_first[s] != P.s_dry_next[s]:
                before = n
                n = mend_run(P, S, -1 - ref, n, most)
                if n < 0:
                    return -1
                if n != before:
                    k = 0
            continue
        user = ref // 2
        if S.change[user] >= 0 and change_length(P, S, user) != S.change_end[user] - S.change[user]:
            if adapt(P, S, user) == 0:
                if n >= most:
                    return -1
                n = take_out(P, S, user, n)
                if n < 0:
                    return -1
                k = 0
    return n


def needed_minutes(P: Problem, S: State, s: int, run: int) -> int:
    """Whole minutes, warm-up included, that spool ``s`` needs in a run that it is in."""
    base = P.chain_off[s]
    first = P.s_runs_before[s] == 0
    for k in range(S.chain_n[s]):
        if S.chain_ref[base + k] == -1 - run:
            break
        if S.chain_ref[base + k] < 0:
            first = False
    dry_class = P.s_dry_first[s] if first else P.s_dry_next[s]
    least = NEVER
    for d in range(P.dry_off[dry_class], P.dry_off[dry_class + 1]):
        if P.dry_machine[d] == S.run_machine[run] and P.dry_set_c[d] == S.run_set_c[run]:
            if P.dry_min[d] < least:
                least = P.dry_min[d]
    return least


def mend_run(P: Problem, S: State, run: int, n: int, most: int) -> int:
    """Take out everybody in a run that no longer has its spools' length; as `close_cut`."""
    if S.run_machine[run] < 0 or S.run_begun[run] == 1 or S.run_n[run] == 0 or S.run_oven[run] == 1:
        return n
    longest = 0
    ref = S.run_first[run]
    while ref >= 0:
        need = needed_minutes(P, S, S.spool[ref], run)
        if need > longest:
            longest = need
        ref = S.run_next[ref]
    length = S.run_end[run] - S.run_start[run]
    if longest == length or (longest < length and P.b_kind[S.run_machine[run]] != BATCH):
        return n
    while S.run_first[run] >= 0:
        if n >= most:
            return -1
        n = take_out(P, S, S.run_first[run] // 2, n)
        if n < 0:
            return -1
    return n
