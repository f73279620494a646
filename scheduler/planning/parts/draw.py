"""Draw parts of a shop: machines that share spools and kinds of work, around jobs that are late."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.planning.kernel.again import G_PRINTER, G_RUNS, G_SPOOL, G_TIMES
from scheduler.planning.kernel.tables import BARRED, FREE
from scheduler.planning.parts.ground import Ground
from scheduler.planning.parts.part import Marks, Part
from scheduler.planning.parts.rows import Rows, array, figure

#: Column of a row's minute of being done.
DONE_AT = G_TIMES + 9


@dataclass(frozen=True)
class Draw:
    """How parts are drawn; every figure was chosen by trial, see DEVELOPERS.md.

    Parameters
    ----------
    printers : int
        Of one part.
    alike, chance : float
        What counts beside the share of a machine's spools that the part uses already: that it fits the
        job that the part grows around, and luck.
    spare : float
        How many of the spools and dryers that no part uses a part sees, as a multiple of its share of
        the machines.
    """

    printers: int = 200
    alike: float = 0.5
    chance: float = 0.5
    spare: float = 1.5


def draw(ground: Ground, rows: Rows, how: Draw, many: int, seed: list[int]) -> list[Part]:
    """Up to ``many`` parts that have no machine, spool, dryer or hand in common."""
    dice = np.random.default_rng(seed)
    there = np.flatnonzero(rows.whole[:, 0] >= 0)
    printer_of = np.full(len(rows.whole), -1)
    printer_of[there] = rows.whole[there, G_PRINTER]
    groups = grow(ground, rows, how, many, dice)
    owners = np.full(figure(ground.pool, "printers") + 1, -1)
    for number, group in enumerate(groups):
        owners[group] = number
    part_of = owners[printer_of]
    spools = _dealt(ground, rows, part_of, len(groups), how, dice, "spools")
    machines = _dealt(ground, rows, part_of, len(groups), how, dice, "machines")
    fixed = array(ground.pool, "S", "fixed")
    parts = []
    for number in range(len(groups)):
        printers = owners[:-1] == number
        used = rows.whole[:, G_SPOOL : G_SPOOL + 2]
        mine = (part_of == number) & (spools[number][used] | (used < 0)).all(axis=1) & (fixed == FREE)
        homeless = _homeless(ground, rows, printers, number, len(groups))
        jobs = np.flatnonzero(mine | homeless).astype(np.int32)
        if len(jobs):
            parts.append(Part(printers, spools[number], machines[number], jobs, number, len(groups)))
    return parts


def grow(
    ground: Ground, rows: Rows, how: Draw, many: int, dice: np.random.Generator
) -> list[npt.NDArray[np.int64]]:
    """The machines of each part, no machine in two."""
    pool = ground.pool
    n = figure(pool, "printers")
    there = np.flatnonzero(rows.whole[:, 0] >= 0)
    many = max(1, min(many, n))
    each = min(how.printers, n // many)
    late = np.maximum(0, rows.whole[there, DONE_AT].astype(np.int64) - array(pool, "P", "j_due")[there])
    chances = array(pool, "P", "j_weight")[there] * late + 1.0
    uses_p, uses_s = _uses(rows)
    degree = np.maximum(1, np.bincount(uses_p, minlength=n))
    off, fits = array(pool, "P", "fit_off"), array(pool, "P", "fit_printer")
    free = np.ones(n, np.bool_)
    groups = []
    for _ in range(many):
        open_to = np.where(free[rows.whole[there, G_PRINTER]], chances, 0.0)
        if each == 0 or open_to.sum() == 0.0:
            break
        first = there[np.searchsorted(np.cumsum(open_to), dice.random() * open_to.sum(), side="right")]
        alike = np.zeros(n)
        fit = array(pool, "P", "j_fit")[first]
        alike[fits[off[fit] : off[fit + 1]]] = how.alike
        alike += how.chance * dice.random(n)
        chosen = np.zeros(n, np.bool_)
        chosen[rows.whole[first, G_PRINTER]] = True
        while (size := int(chosen.sum())) < each:
            seen = np.zeros(len(array(pool, "P", "s_material")), np.bool_)
            seen[uses_s[chosen[uses_p]]] = True
            shared = np.bincount(uses_p, weights=seen[uses_s], minlength=n) / degree
            worth = np.where(free & ~chosen, shared + alike, -1.0)
            more = np.argsort(-worth, kind="stable")[: min(each - size, size)]
            more = more[worth[more] >= 0.0]
            if not len(more):
                break
            chosen[more] = True
        free &= ~chosen
        groups.append(np.flatnonzero(chosen))
    return groups


def _uses(rows: Rows) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Printer and spool of each feed that has a place."""
    there = rows.whole[rows.whole[:, 0] >= 0]
    printers = np.repeat(there[:, G_PRINTER], 2).astype(np.int64)
    spools = there[:, G_SPOOL : G_SPOOL + 2].reshape(-1).astype(np.int64)
    return printers[spools >= 0], spools[spools >= 0]


def _dealt(
    ground: Ground,
    rows: Rows,
    part_of: npt.NDArray[np.int64],
    parts: int,
    how: Draw,
    dice: np.random.Generator,
    what: str,
) -> list[Marks]:
    """Spools, or dryers and ovens, of each part: those that it uses most, and some that no part uses."""
    columns: tuple[int, ...]
    if what == "spools":
        many, columns = len(array(ground.pool, "P", "s_material")), (G_SPOOL, G_SPOOL + 1)
    else:
        many, columns = figure(ground.pool, "machines"), (G_RUNS, G_RUNS + 4, G_RUNS + 8)
    counts = np.zeros((max(1, parts), many), np.int64)
    inside = part_of >= 0
    for column in columns:
        thing = rows.whole[:, column]
        used = inside & (thing >= 0) & (rows.whole[:, 0] >= 0)
        np.add.at(counts, (part_of[used], thing[used]), 1)
    owner = counts.argmax(axis=0)
    idle = counts.sum(axis=0) == 0
    owner[idle] = dice.integers(0, max(1, parts), int(idle.sum()))
    reach = min(1.0, how.spare * how.printers * max(1, parts) / figure(ground.pool, "printers"))
    owner[idle & (dice.random(many) >= reach)] = -1
    return [owner == number for number in range(parts)]


def _homeless(ground: Ground, rows: Rows, printers: Marks, number: int, parts: int) -> Marks:
    """Jobs without a place that something in the part fits; each is one part's alone."""
    off, fits = array(ground.pool, "P", "fit_off"), array(ground.pool, "P", "fit_printer")
    places = np.concatenate([[0], np.cumsum(printers[fits])])
    fitting = (places[off[1:]] > places[off[:-1]])[array(ground.pool, "P", "j_fit")]
    jobs = np.arange(len(fitting))
    out = (rows.whole[:, 0] < 0) & ~ground.settled.jobs
    barred = array(ground.pool, "S", "fixed") == BARRED
    found: Marks = out & fitting & ~barred & (jobs % parts == number)
    return found
