"""Jobs that only a few machines can do, planned to the end there: prices miss what whole plates cost.

Prices charge each job by itself, so two jobs may both have the cheapest hours of a machine. Of the jobs
that fit no machine but a few, so many that every order can be looked at have a least cost on these machines
together, lateness and prices, no two on one machine at a time. What that is above the sum of their least
costs one by one adds to the bound that the prices prove; and so do the gains of several such lots of jobs, of
which none has a job in common with another.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.planning.bound.offers import Floats, Whole
from scheduler.planning.bound.prices import Prices, Tariff
from scheduler.planning.bound.subsets import OnMachine, least_cost
from scheduler.planning.kernel.alone import done_alone
from scheduler.planning.kernel.tables import NEVER

#: Machines, and jobs, of which every order is looked at.
MOST_MACHINES, MOST_JOBS = 5, 13
#: So many jobs that share what is not enough for all are told apart, at most.
MOST_SCARCE = 4
#: Of more jobs so many are looked at, in the order of their latest starts, so far apart.
STRIDE = 4
#: A gain that is worth naming, weighted late minutes.
LEAST_GAIN = 1.0
#: What sums of so many figures may be off.
DUST = 1e-7


@dataclass(frozen=True)
class Narrow:
    """Some jobs and the only machines for them, with what they cost beyond each by itself."""

    jobs: tuple[int, ...]
    printers: tuple[int, ...]
    gain: float


class Narrows:
    """Finds such lots of jobs in one task.

    Parameters
    ----------
    prices : Prices
        Of the task.
    """

    def __init__(self, prices: Prices) -> None:
        self.prices, self.P, self.shop = prices, prices.P, prices.shop
        offering = prices.offering
        self.fits: dict[int, frozenset[int]] = {}
        self.ways = {j: offering.ways(j) for j in offering.open_jobs() if j not in offering.pins}
        for j, ways in self.ways.items():
            # A pinned job begins when it must, not as soon as it can; one without filament is left out.
            if ways:
                self.fits[j] = frozenset(self.shop.fitting(j))
        self.narrow = sorted(
            {fit for fit in self.fits.values() if len(fit) <= MOST_MACHINES}, key=lambda fit: sorted(fit)
        )
        self._spans: dict[tuple[int, int], tuple[Whole, Whole, Floats]] = {}

    def find(self, tariff: Tariff, stop: Callable[[], bool] = lambda: False) -> list[Narrow]:
        """Lots of jobs of which none has two, those that gain most at these prices first.

        Parameters
        ----------
        stop : callable
            Asked now and then; True ends it with those that were found.
        """
        at = _AtPrices(self, tariff)
        free, out = set(self.fits), list[Narrow]()
        over = False
        while not over:
            found = []
            asked = [(lot, some) for some in self.narrow for lot in self._lots(free, some)]
            for lot, fit in asked:
                over = stop()
                if over:
                    break
                found.append(at.narrow(lot, fit))
            # Of two that gain as much, the one that leaves more jobs to others.
            best = max(found, key=lambda one: (one.gain > 0, round(one.gain), -len(one.jobs)), default=None)
            if best is None or best.gain < LEAST_GAIN:
                break
            out.append(best)
            free -= set(best.jobs)
        return out

    def _lots(self, free: Collection[int], printers: frozenset[int]) -> list[tuple[int, ...]]:
        """Jobs that these machines alone can do; if they are too many, some that begin at about one time."""
        P = self.P
        jobs = sorted(j for j in free if self.fits[j] <= printers)
        jobs.sort(key=lambda j: (P.j_due[j] - P.j_print[j], j))
        starts = range(0, max(1, len(jobs) - MOST_JOBS + STRIDE), STRIDE)
        lots = [tuple(sorted(jobs[first : first + MOST_JOBS])) for first in starts]
        return [lot for lot in lots if len(lot) > 1]

    def wants_scarce(self, j: int) -> bool:
        """Whether the job's soonest filament is not enough for all who want it."""
        return len(self.ways[j]) > 1 or not self.ends_ample(j)

    def ends_ample(self, j: int) -> bool:
        """Whether there is filament for the job that is enough for all."""
        shelves = self.prices.supply.shelves
        return any(all(shelves[k].ample for k in way) for way in self.ways[j][-1][1])

    def scarce(self, jobs: tuple[int, ...]) -> int | None:
        """How many of the jobs can have filament that is not enough for all; ``None`` if it binds nobody."""
        wanting = [j for j in jobs if self.wants_scarce(j)]
        shelves = self.prices.supply.shelves
        short = {k for j in wanting for _, alike in self.ways[j] for way in alike for k in way}
        refs = [2 * j + f for j in wanting for f in range(self.P.j_feeds[j])]
        most = self.prices.supply.feeds_at_most([k for k in short if not shelves[k].ample], refs)
        return most if most < min(len(wanting), MOST_SCARCE + 1) else None

    def spans(self, j: int, p: int) -> tuple[Whole, Whole, Floats]:
        """The job's stays on a machine: changeover's start, unload's end, weighted late minutes."""
        if (j, p) not in self._spans:
            P, spool_at = self.P, self.ways[j][0][0]
            start, end = self.shop.ends(j, p)
            first = int(np.searchsorted(start, max(self.shop.floor[p], P.j_release[j], spool_at)))
            start, end = start[first:], end[first:]
            done = np.maximum(self.shop.done(j, end), done_alone(P, self.shop.S, j, p, spool_at))
            self._spans[j, p] = start, end, P.j_weight[j] * np.maximum(0, done - P.j_due[j]).astype(float)
        return self._spans[j, p]


class _AtPrices:
    """The costs of jobs on machines at some prices."""

    def __init__(self, narrows: Narrows, tariff: Tariff) -> None:
        self.of, self.prices = narrows, narrows.prices
        self.sums, self.least, self.filament = tariff.sums, tariff.least, tariff.filament
        self._tables: dict[tuple[int, int, bool], tuple[Whole, Floats]] = {}
        self._known: dict[tuple[tuple[int, ...], frozenset[int]], Narrow] = {}

    def narrow(self, jobs: tuple[int, ...], fit: frozenset[int]) -> Narrow:
        """What the jobs lose by each other on these machines; nothing if there are too many orders."""
        if (jobs, fit) not in self._known:
            printers = tuple(sorted(fit))
            scarce = self.of.scarce(jobs)
            machines: dict[tuple[bytes, ...], OnMachine] = {}
            on = []
            for p in printers:
                tables = [self._table(j, p, False) for j in jobs]
                spared = [
                    self._table(j, p, True) if scarce is not None and self.of.wants_scarce(j) else None
                    for j in jobs
                ]
                name = tuple(part.tobytes() for table in [*tables, *filter(None, spared)] for part in table)
                alike = OnMachine(tables, spared)
                on.append(machines.setdefault(name, alike))
            out = [max(0.0, self.prices.offering.left_out(j) - self.least[j]) for j in jobs]
            gain = least_cost(on, out, scarce or 0, a_cost(on, out) + DUST) or 0.0
            self._known[jobs, fit] = Narrow(jobs, printers, max(0.0, gain - DUST * (1.0 + gain)))
        return self._known[jobs, fit]

    def _table(self, j: int, p: int, spared: bool) -> tuple[Whole, Floats]:
        """By the minute from which the job may begin there: its stay's soonest end, its least cost.

        The cost is that of any stay from then on, and what it is beyond the least that the job has anywhere.
        Whoever waits for cheaper hours is reckoned over as if he had not. If ``spared``, the job takes
        filament only from where there is enough for all.
        """
        if (j, p, spared) not in self._tables:
            shop = self.of.shop
            over = np.full(shop.minutes + 1, NEVER, dtype=np.int64)
            cost = np.zeros(shop.minutes + 1)
            minutes = self.filament[j]
            if spared:
                minutes = minutes[-1:] if self.of.ends_ample(j) else []
                minutes = [(self.of.ways[j][-1][0], paid) for _, paid in minutes]
            if p in self.of.fits[j] and minutes:
                start, end, late = self.of.spans(j, p)
                row = shop.row_of[p] * (self.prices.until + 1)
                begins, ends = (row + np.minimum(at, self.prices.until) for at in (start, end))
                value = late + (self.sums[ends] - self.sums[begins])
                paid = np.full(len(start) + 1, np.inf)
                for minute, filament in minutes:
                    first = int(np.searchsorted(start, minute))
                    paid[first:-1] = np.minimum(paid[first:-1], value[first:] + filament)
                paid = np.minimum.accumulate(paid[::-1])[::-1]
                at = np.searchsorted(start, np.maximum(np.arange(shop.minutes + 1), minutes[0][0]))
                over = np.append(end, NEVER)[at]
                cost = np.where(over < NEVER, np.maximum(0.0, paid[at] - self.least[j]), 0.0)
            self._tables[j, p, spared] = over, cost
        return self._tables[j, p, spared]


def a_cost(machines: Sequence[OnMachine], left_out: Sequence[float]) -> float:
    """What a simple plan of the jobs costs: one after the other where it costs least, in a few orders.

    None of them takes of what is scarce.
    """
    n = len(left_out)
    least = sum(left_out)
    last = len(machines[0].of[0][0]) - 1
    tables = [[m.spared[j] or m.of[j] for j in range(n)] for m in machines]
    # Who would be done first if nobody were there; who costs most if all were there first.
    for order in (
        sorted(range(n), key=lambda j: min(m[j][0][0] for m in tables)),
        sorted(range(n), key=lambda j: -min(m[j][1][last // 4] for m in tables)),
        sorted(range(n), key=lambda j: -min(m[j][1][last // 8] for m in tables)),
    ):
        free_at, cost = [0] * len(machines), 0.0
        for j in order:
            over = [int(m[j][0][min(at, last)]) for m, at in zip(tables, free_at, strict=True)]
            paid = [float(m[j][1][min(at, last)]) for m, at in zip(tables, free_at, strict=True)]
            k = min(range(len(machines)), key=lambda k: (over[k] >= NEVER, paid[k], over[k]))
            if over[k] >= NEVER or paid[k] >= left_out[j]:
                cost += left_out[j]
            else:
                cost, free_at[k] = cost + paid[k], over[k]
        least = min(least, cost)
    return least
