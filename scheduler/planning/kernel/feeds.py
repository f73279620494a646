"""Drying runs for the spools of a job's feeds."""

from __future__ import annotations

from scheduler.planning.kernel.bake import MEMO_ON, close_run, find_drying_again, open_run
from scheduler.planning.kernel.chain import recipe_for, rest_from, runs_among
from scheduler.planning.kernel.tables import BATCH, Problem, State

#: Scratch, per feed: run to join (-1: a new one, -2: the first feed's), machine, start, end, recipe (see
#: `find_drying`), and whether it is needed.
DRY = 16
DRY_STEP = 8
NEEDED = 5


def dry_feed(P: Problem, S: State, j: int, f: int, s: int, at: int, end_after: int, limit: int) -> int:
    """Find a run for feed ``f``; minute at which the spool is dry, -1 if there is none."""
    first = runs_among(P, S, s, at) == 0
    if first and P.s_dry_first[s] != P.s_dry_next[s]:
        # Its own recipes hold for the first run alone; none may slip in before it.
        if runs_among(P, S, s, S.chain_n[s]) > 0:
            return -1
    dry_class = P.s_dry_first[s] if first else P.s_dry_next[s]
    ready = max(0, rest_from(P, S, s, at))
    slot = DRY + f * DRY_STEP
    if find_drying_again(P, S, dry_class, ready, end_after, slot, limit) == 0:
        return -1
    return S.t[slot + 3]


def dry_beside(P: Problem, S: State, j: int, f: int, s: int, at: int, end_after: int, limit: int) -> int:
    """As `dry_feed`, with the run that the scratch has for the other feed in place meanwhile."""
    t = S.t
    slot = DRY + f * DRY_STEP
    other = DRY + (1 - f) * DRY_STEP
    if t[other + NEEDED] == 0:
        return dry_feed(P, S, j, f, s, at, end_after, limit)
    run = -1
    if t[other] < 0:
        set_c = P.dry_set_c[t[other + 4]]
        run = open_run(P, S, t[other + 1], 0, t[other + 2], t[other + 3], set_c, 0)
        if run < 0:
            return -1
        S.run_n[run] = 1
    else:
        S.run_n[t[other]] += 1
    memo = t[MEMO_ON]
    t[MEMO_ON] = 0
    found = dry_feed(P, S, j, f, s, at, end_after, limit)
    t[MEMO_ON] = memo
    if run < 0:
        S.run_n[t[other]] -= 1
        return found
    S.run_n[run] = 0
    close_run(P, S, run)
    if found >= 0 and t[slot] == run:
        # Shares the other's new run, which has no id yet; it is opened for the first feed.
        t[DRY] = -1
        t[DRY + DRY_STEP] = -2
    return found


def chases(S: State) -> int:
    """1 if the first feed's new run stands before the second's in one machine, so that it waits for it."""
    t = S.t
    two = DRY + DRY_STEP
    if t[DRY + NEEDED] == 0 or t[two + NEEDED] == 0 or t[two] == -2:
        return 0
    return 1 if t[DRY + 1] == t[two + 1] and t[DRY + 3] <= t[two + 2] else 0


def dry_together(
    P: Problem, S: State, j: int, s0: int, s1: int, at0: int, at1: int, end_after: int, by: int
) -> int:
    """Let both feeds share a new run as long as the second's if they are dry by ``by`` then too.

    Which is the longer is not known before: alone, the first feed's run would end too soon for the second.

    Returns
    -------
    int
        Minute at which both are dry; ``by`` with nothing changed if they can't share one.
    """
    t = S.t
    two = DRY + DRY_STEP
    run, b, start, end, d = t[two], t[two + 1], t[two + 2], t[two + 3], t[two + 4]
    memo = t[MEMO_ON]
    t[MEMO_ON] = 0
    dry = dry_feed(P, S, j, 1, s1, at1, end_after, by)
    t[MEMO_ON] = memo
    if dry >= 0 and t[two] == -1 and P.b_kind[t[two + 1]] == BATCH and P.b_slots[t[two + 1]] > 1:
        set_c = P.dry_set_c[t[two + 4]]
        mine = recipe_for(P, S, s0, at0, t[two + 1], set_c, t[two + 3] - t[two + 2])
        if mine >= 0 and t[two + 2] >= rest_from(P, S, s0, at0):
            t[DRY] = -1
            t[DRY + 1] = t[two + 1]
            t[DRY + 2] = t[two + 2]
            t[DRY + 3] = dry
            t[DRY + 4] = mine
            t[two] = -2
            return dry
    t[two] = run
    t[two + 1] = b
    t[two + 2] = start
    t[two + 3] = end
    t[two + 4] = d
    return by
