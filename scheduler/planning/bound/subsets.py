"""The least cost of dealing some jobs out to a few machines, in any order: exact, by every subset.

Each job has on each machine a time at which it is over and what it then costs, both by the minute from
which it may begin and neither ever sooner or less for a later one. So on one machine only the order counts,
and of two orders of the same jobs the one that is over sooner and costs no more is the better (Held and Karp
1962, "A dynamic programming approach to sequencing problems"; here with all orders that no other beats,
because a later end may cost less).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.planning.kernel.tables import NEVER

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

#: Orders kept for the subsets of one size; with more the question is given up.
MOST_LABELS = 400_000


@dataclass(frozen=True)
class OnMachine:
    """What one machine would make of each job, by the minute from which it may begin: ``[job][minute]``."""

    over: Sequence[Whole]
    cost: Sequence[Floats]


def undominated(mask: Whole, time: Whole, cost: Floats) -> npt.NDArray[np.int64]:
    """Which of these are not beaten by another of the same subset that is over no later and costs no more."""
    order = np.lexsort((cost, time, mask))
    while True:
        m, c = mask[order], cost[order]
        # In the order of time, whatever costs no less than the one before it is beaten by that.
        keep = np.ones(len(order), dtype=bool)
        keep[1:] = (m[1:] != m[:-1]) | (c[1:] < c[:-1])
        if keep.all():
            return order
        order = order[keep]


def on_one(machine: OnMachine, most: float) -> Floats | None:
    """For each subset of the jobs the least cost of doing them on one machine, if it is ``most`` at most.

    Returns ``None`` if there are too many orders to look at; infinity for a subset that costs more.
    """
    n = len(machine.over)
    least = np.full(1 << n, np.inf)
    least[0] = 0.0
    mask, time, cost = np.zeros(1, dtype=np.int64), np.zeros(1, dtype=np.int64), np.zeros(1)
    for _ in range(n):
        grown = []
        for j in range(n):
            free = np.flatnonzero(mask >> j & 1 == 0)
            at = np.minimum(time[free], len(machine.over[j]) - 1)
            over, spent = machine.over[j][at], cost[free] + machine.cost[j][at]
            good = (over < NEVER) & (spent <= most)
            grown.append((mask[free][good] | 1 << j, over[good], spent[good]))
        mask, time, cost = (np.concatenate(column) for column in zip(*grown, strict=True))
        if not len(mask):
            break
        if len(mask) > MOST_LABELS:
            return None
        kept = undominated(mask, time, cost)
        mask, time, cost = mask[kept], time[kept], cost[kept]
        np.minimum.at(least, mask, cost)
    return least


def subset_sums(values: Sequence[float]) -> Floats:
    """The sum of each subset of some values."""
    out = np.zeros(1)
    for value in values:
        out = np.concatenate([out, out + value])
    return out


def joined(one: Floats, other: Floats, most: float) -> Floats:
    """For each subset the least cost if it is dealt out to two; each given by what a subset costs it."""
    best = other.copy()
    everything = np.arange(len(one))
    for mine in np.flatnonzero(one <= most):
        rest = everything[(everything & mine) == 0]
        rest = rest[other[rest] <= most]
        both = rest | mine
        best[both] = np.minimum(best[both], one[mine] + other[rest])
    return best


def least_cost(machines: Sequence[OnMachine], left_out: Sequence[float], most: float) -> float | None:
    """The least cost of all jobs, each on one of the machines or left out.

    Parameters
    ----------
    left_out : sequence of float
        What each job costs on no machine.
    most : float
        A cost that can be had.

    Returns
    -------
    float or None
        ``None`` if there are too many orders to look at.
    """
    total = subset_sums(left_out)
    known: dict[int, Floats] = {}
    for machine in machines:
        if id(machine) not in known:
            least = on_one(machine, most)
            if least is None:
                return None
            known[id(machine)] = least
        total = joined(known[id(machine)], total, most)
    return float(min(total[-1], most))
