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
ByMinute = tuple[Whole, Floats]

#: Orders kept for the subsets of one size; with more the question is given up.
MOST_LABELS = 400_000


@dataclass(frozen=True)
class OnMachine:
    """What one machine would make of each job.

    Parameters
    ----------
    of : sequence
        By the minute from which the job may begin: when it is over, and what it costs.
    spared : sequence
        Likewise if it takes nothing of what is scarce; ``None`` for a job that needs none of it.
    """

    of: Sequence[ByMinute]
    spared: Sequence[ByMinute | None]


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


def on_one(machine: OnMachine, scarce: int, most: float) -> Floats | None:
    """The least cost of doing some of the jobs on one machine, if it is ``most`` at most.

    Parameters
    ----------
    scarce : int
        How many jobs may take of what is scarce.

    Returns
    -------
    array or None
        By how many did, and by the subset of the jobs; infinity for what costs more. ``None`` if there are
        too many orders to look at.
    """
    n = len(machine.of)
    least = np.full((scarce + 1, 1 << n), np.inf)
    least[0, 0] = 0.0
    mask, taken = np.zeros(1, dtype=np.int64), np.zeros(1, dtype=np.int64)
    time, cost = np.zeros(1, dtype=np.int64), np.zeros(1)
    for _ in range(n):
        grown = []
        for j in range(n):
            spared = machine.spared[j]
            ways = [(*machine.of[j], 0 if spared is None else 1)]
            if spared is not None:
                ways.append((*spared, 0))
            for overs, costs, takes in ways:
                free = np.flatnonzero((mask >> j & 1 == 0) & (taken + takes <= scarce))
                at = np.minimum(time[free], len(overs) - 1)
                over, spent = overs[at], cost[free] + costs[at]
                good = (over < NEVER) & (spent <= most)
                free = free[good]
                grown.append((mask[free] | 1 << j, taken[free] + takes, over[good], spent[good]))
        mask, taken, time, cost = (np.concatenate(column) for column in zip(*grown, strict=True))
        if not len(mask):
            break
        if len(mask) > MOST_LABELS:
            return None
        kept = undominated(mask * (scarce + 1) + taken, time, cost)
        mask, taken, time, cost = mask[kept], taken[kept], time[kept], cost[kept]
        np.minimum.at(least, (taken, mask), cost)
    return least


def subset_sums(values: Sequence[float]) -> Floats:
    """The sum of each subset of some values."""
    out = np.zeros(1)
    for value in values:
        out = np.concatenate([out, out + value])
    return out


def joined(one: Floats, other: Floats, most: float) -> Floats:
    """As `on_one`, of what is dealt out to two; each given likewise."""
    best = other.copy()
    everything = np.arange(one.shape[1])
    for here, mine in zip(*np.nonzero(one <= most), strict=True):
        rest = everything[(everything & mine) == 0]
        for there in range(len(one) - here):
            both = other[there, rest] + one[here, mine]
            best[here + there, rest | mine] = np.minimum(best[here + there, rest | mine], both)
    return best


def least_cost(
    machines: Sequence[OnMachine], left_out: Sequence[float], scarce: int, most: float
) -> float | None:
    """The least cost of all jobs, each on one of the machines or left out.

    Parameters
    ----------
    left_out : sequence of float
        What each job costs on no machine.
    scarce : int
        How many of the jobs may take of what is scarce.
    most : float
        A cost that can be had.

    Returns
    -------
    float or None
        ``None`` if there are too many orders to look at.
    """
    total = np.full((scarce + 1, 1 << len(left_out)), np.inf)
    total[0] = subset_sums(left_out)
    known: dict[int, Floats] = {}
    for machine in machines:
        if id(machine) not in known:
            least = on_one(machine, scarce, most)
            if least is None:
                return None
            known[id(machine)] = least
        total = joined(known[id(machine)], total, most)
    return float(min(total[:, -1].min(), most))
