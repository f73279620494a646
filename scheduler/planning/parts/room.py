"""Make room on spools for jobs that found none with enough left."""

from __future__ import annotations

import numpy as np

from scheduler.planning.compiled import Pool
from scheduler.planning.kernel.again import G_SPOOL
from scheduler.planning.kernel.tables import BARRED, FREE
from scheduler.planning.parts.ground import Ground
from scheduler.planning.parts.rows import Real, Rows, Whole, array

#: Jobs that give up their spool for one without a place, at most.
MOST_GIVERS = 4


def make_room(ground: Ground, pool: Pool, rows: Rows) -> list[tuple[int, list[int]]]:
    """Jobs without a place for want of a spool, each with those whose spool it could have.

    Those are free to go, leave enough behind, and find enough on other spools that would do for them. It
    is for the caller to take them out, put the first in before them, and see whether the plan is better.

    Parameters
    ----------
    pool : Pool
        With the plan of the rows in it.

    Returns
    -------
    list of (job without a place, jobs to take out)
        No job is in it twice.
    """
    off, fit = array(pool, "P", "fit_off"), array(pool, "P", "j_fit")
    fixed, left = array(pool, "S", "fixed"), array(pool, "S", "left_g").copy()
    grams, feeds = array(pool, "P", "j_grams"), array(pool, "P", "j_feeds")
    lots, group = array(pool, "P", "s_lot"), array(pool, "P", "j_group")
    free = (rows.whole[:, 0] >= 0) & (fixed == FREE) & (feeds == 1) & (group < 0)
    users: dict[int, list[int]] = {}
    for j in np.flatnonzero(free).tolist():
        users.setdefault(int(rows.whole[j, G_SPOOL]), []).append(j)
    out = (rows.whole[:, 0] < 0) & ~ground.settled.jobs & (fixed != BARRED) & (off[fit + 1] > off[fit])
    exchanges = []
    for j in np.flatnonzero(out).tolist():
        spools = _candidates(pool, j)
        if group[j] >= 0:
            partners = np.flatnonzero((group == group[j]) & (array(pool, "S", "printer") >= 0))
            if len(partners):
                spools = spools[lots[spools] == lots[array(pool, "S", "spool")[2 * partners[0]]]]
        if not len(spools) or left[spools].max() >= grams[2 * j]:
            continue
        found = _exchange(pool, grams, left, users, spools, float(grams[2 * j]))
        if found is not None:
            s, givers = found
            exchanges.append((j, [giver for giver, _ in givers]))
            left[s] -= grams[2 * j]
            for giver, instead in givers:
                users[s].remove(giver)
                left[s] += grams[2 * giver]
                left[instead] -= grams[2 * giver]
    return exchanges


def _candidates(pool: Pool, j: int) -> Whole:
    """Spools that would do for the job's first feed, had they enough left."""
    lo, hi = array(pool, "P", "cand_lo")[2 * j], array(pool, "P", "cand_hi")[2 * j]
    found: Whole = array(pool, "P", "cand")[lo:hi].astype(np.int32)
    return found


def _exchange(
    pool: Pool, grams: Real, left: Real, users: dict[int, list[int]], spools: Whole, asked: float
) -> tuple[int, list[tuple[int, int]]] | None:
    """A spool, and who gives it up for which other spool: as few as can be, `MOST_GIVERS` at most."""
    best: tuple[int, list[tuple[int, int]]] | None = None
    for s in spools[np.argsort(-left[spools], kind="stable")].tolist():
        there, rest, givers = float(left[s]), left.copy(), []
        for giver in sorted(users.get(s, ()), key=lambda j: (-grams[2 * j], j)):
            others = _candidates(pool, giver)
            others = others[(rest[others] >= grams[2 * giver]) & (others != s)]
            if not len(others):
                continue
            instead = int(others[np.argmin(rest[others])])
            rest[instead] -= grams[2 * giver]
            there += float(grams[2 * giver])
            givers.append((giver, instead))
            if there >= asked or len(givers) == MOST_GIVERS:
                break
        if there >= asked and (best is None or len(givers) < len(best[1])):
            best = s, givers
            if len(givers) == 1:
                break
    return best
