"""A bound from prices on machine hours and filament: queues count, not only each job alone.

Let every minute of a row of like machines have a price of nought or more. In a valid plan no machine
holds two jobs at once, so what all stays pay together is at most what all minutes cost. Hence, for any
prices,

    late_cost ≥ Σ over jobs (least of: late minutes + price of the stay) − price of all minutes.

This is the Lagrangian dual of a time-indexed model of the machines, in which no job is cut into pieces; a
transport model that cuts jobs is at most as strong (Pan and Shi 2007, "On the equivalence of the max-min
transportation lower bound and the time-indexed lower bound for single-machine scheduling problems",
Mathematical Programming 110). In the same way the filament of a shelf (`supply`) has a price by the gram
and one by the feed that it serves. Prices need not be the best ones for the bound to hold. Good ones are
found by climbing: what more jobs ask for than there is gets dearer. The least over a job's
stays has corners, so it is blurred, log-sum-exp for the minimum, less and less (Nesterov 2005, "Smooth
minimization of non-smooth functions", Mathematical Programming 103); the rest is L-BFGS-B.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.optimize import Bounds, minimize
from threadpoolctl import threadpool_limits

from scheduler.planning.bound.alone import done_as_pinned, eased_state, late_alone
from scheduler.planning.bound.offers import UNIT_G, Floats, Offering, Offers, Whole
from scheduler.planning.bound.stays import Shop
from scheduler.planning.bound.supply import Supply
from scheduler.planning.construct import Base
from scheduler.planning.kernel.tables import NEVER, Problem

#: Minutes that have one price, and in a shop of more jobs times printers than `MIDDLE`.
BUCKET_MIN, COARSE_MIN = 30, 60
MIDDLE = 2_000
#: How much the least over a job's stays is blurred, one climb each, weighted late minutes.
BLURS_MIN = (300.0, 100.0, 40.0, 20.0, 10.0, 5.0, 2.0, 0.7)
#: Steps of each climb.
ROUNDS = 30
#: How far behind the last due date minutes still have a price.
BEHIND_MIN = 4 * 24 * 60
#: Prices of filament move by so much where those of minutes move by one.
FILAMENT_STEP = 30.0


def is_small(P: Problem) -> bool:
    """Whether a climb takes moments rather than seconds."""
    return P.jobs * P.printers <= MIDDLE


def blurred_least(value: Floats, off: Whole, blur: float) -> tuple[Floats, Floats]:
    """Of each stretch ``off[i]:off[i + 1]`` the blurred least, never above it, and each value's part."""
    least, counts = np.minimum.reduceat(value, off[:-1]), np.diff(off)
    weight = np.exp((np.repeat(least, counts) - value) / blur)
    mass = np.add.reduceat(weight, off[:-1])
    weight /= np.repeat(mass, counts)
    return least - blur * np.log(mass), weight


@dataclass(frozen=True)
class Tariff:
    """What jobs cost at some prices.

    Parameters
    ----------
    sums : array of float
        Price of all minutes of each row before each minute, row by row.
    least : dict
        For each job the least that it costs by itself, weighted late minutes.
    filament : dict
        For each job the minutes from which its filament may be there, and what that costs at least.
    """

    sums: Floats
    least: dict[int, float]
    filament: dict[int, list[tuple[int, float]]]


class _StoppedError(Exception):
    """The climb was asked to end."""


class Prices:
    """The bound of one task and the prices that prove it.

    Prices lie in one row: those of the machines' minutes, row by row, then of the shelves' grams, then of
    the feeds that they serve.

    Parameters
    ----------
    base : Base
        Of the task; work under way stands as in every plan.
    bucket_min : int or None
        Minutes that have one price; by the shop's size if not given.
    """

    def __init__(self, base: Base, bucket_min: int | None = None) -> None:
        self.base, task = base, base.task
        self.P, self.S = task.problem, eased_state(task)
        dues = [due for due in self.P.j_due if due < NEVER]
        if bucket_min is None:
            bucket_min = BUCKET_MIN if is_small(self.P) else COARSE_MIN
        self.bucket = bucket_min
        self.until = max(1, min(self.P.horizon, max(dues, default=0) + BEHIND_MIN))
        self.buckets = -(-self.until // bucket_min)
        self.until = self.buckets * bucket_min
        self.shop, self.supply = Shop(self.P, self.S, self.until), Supply(self.P, self.S)
        self.late_alone = late_alone(base, None)
        self.alone = self.best = math.fsum(self.late_alone)
        self.offering = Offering(task, self.shop, self.supply, self.until, self.bucket, done_as_pinned(task))
        self.capacity = self._capacity()
        self.price = np.zeros_like(self.capacity)

    @cached_property
    def offers(self) -> Offers:
        """What there is to choose from for each job that has not begun."""
        return self.offering.all()

    @cached_property
    def fixed(self) -> float:
        """Weighted late minutes of the other jobs."""
        chosen = set(self.offers.jobs)
        return math.fsum(late for j, late in enumerate(self.late_alone) if j not in chosen)

    @property
    def _minutes(self) -> int:
        """How many of the prices are of minutes."""
        return len(self.shop.rows) * self.buckets

    @cached_property
    def _steps(self) -> Floats:
        """By how much prices move where those of minutes move by one."""
        steps = np.ones_like(self.capacity)
        steps[self._minutes :] = FILAMENT_STEP
        return steps

    def _capacity(self) -> Floats:
        """What there is of each: machine minutes, counted from where work under way ends; filament."""
        rows, shop, shelves = len(self.shop.rows), self.shop, self.supply.shelves
        minutes = np.zeros((rows, self.until))
        for p in range(self.P.printers):
            minutes[shop.row_of[p], min(self.until, shop.floor[p]) :] += 1
        by_bucket = minutes.reshape(rows, self.buckets, self.bucket).sum(axis=2)
        grams = [shelf.grams / UNIT_G for shelf in shelves]
        return np.concatenate([by_bucket.ravel(), grams, [shelf.feeds for shelf in shelves]])

    def sums(self, price: Floats) -> Floats:
        """Price of all minutes of each row before each minute."""
        rows = len(self.shop.rows)
        out = np.zeros((rows, self.until + 1))
        by_bucket = price[: self._minutes].reshape(rows, self.buckets)
        np.cumsum(np.repeat(by_bucket, self.bucket, axis=1), axis=1, out=out[:, 1:])
        return out.ravel()

    def paid_before(self, minutes: list[int]) -> Floats:
        """What each printer's minutes before some cost, weighted late minutes; shape (printers, minutes)."""
        by_row = self.sums(self.price).reshape(len(self.shop.rows), -1)
        found: Floats = by_row[np.asarray(self.shop.row_of)[:, None], np.minimum(minutes, self.until)]
        return found

    def _filament(self, price: Floats) -> Floats:
        """What each way to have filament costs."""
        all_ = self.offers
        by_gram, by_feed = price[self._minutes :].reshape(2, -1)
        paid = all_.want * by_gram[all_.want_shelf] + by_feed[all_.want_shelf]
        return np.bincount(all_.want_way, paid, all_.way_off[-1]).astype(float)

    def least(self, price: Floats) -> list[float]:
        """The least that each job of the offers costs by itself, weighted late minutes."""
        all_, sums = self.offers, self.sums(price)
        if not all_.jobs:
            return []
        filament = np.minimum.reduceat(self._filament(price), all_.way_off[:-1])
        value = all_.late + (sums[all_.end] - sums[all_.start]) + filament[all_.option]
        out: list[float] = np.minimum.reduceat(value, all_.off[:-1]).tolist()
        return out

    def tariff(self, price: Floats) -> Tariff:
        """What each job can't cost less than at some prices, and its filament."""
        paid = np.minimum.reduceat(self._filament(price), self.offers.way_off[:-1]).tolist()
        filament: dict[int, list[tuple[int, float]]] = {}
        option = 0
        for j in self.offers.jobs:
            minutes = self.offering.minutes(j)
            filament[j] = list(zip(minutes, paid[option + 1 : option + 1 + len(minutes)], strict=True))
            option += 1 + len(minutes)
        least = dict(zip(self.offers.jobs, self.least(price), strict=True))
        return Tariff(self.sums(price), least, filament)

    def free(self) -> Tariff:
        """The tariff of no prices: every job costs its lateness."""
        jobs = self.offering.open_jobs()
        least = {j: self.late_alone[j] for j in jobs}
        filament = {j: [(minute, 0.0) for minute in self.offering.minutes(j)[:1]] for j in jobs}
        return Tariff(np.zeros(len(self.shop.rows) * (self.until + 1)), least, filament)

    def look(self, price: Floats) -> float:
        """The bound that some prices prove, weighted late minutes."""
        paid = math.fsum((price * self.capacity).tolist())
        return self.fixed + math.fsum(self.least(price)) - paid

    def soft(self, price: Floats, blur: float) -> tuple[float, Floats]:
        """The bound with the least over each job's stays blurred, never above it; and its slopes."""
        all_, sums = self.offers, self.sums(price)
        filament, of_way = blurred_least(self._filament(price), all_.way_off, blur)
        value = all_.late + (sums[all_.end] - sums[all_.start]) + filament[all_.option]
        least, weight = blurred_least(value, all_.off, blur)
        of_way *= np.repeat(np.bincount(all_.option, weight, len(filament)), np.diff(all_.way_off))
        over = self._asked(weight, of_way) - self.capacity
        return self.fixed + float(least.sum()) - float((price * self.capacity).sum()), over

    def _asked(self, weight: Floats, of_way: Floats) -> Floats:
        """How much is asked of each if offers, and ways to have their filament, are taken in these parts."""
        all_, rows = self.offers, len(self.shop.rows)
        size = rows * (self.until + 1)
        used = np.bincount(all_.start, weight, size) - np.bincount(all_.end, weight, size)
        minutes = np.cumsum(used.reshape(rows, -1), axis=1)[:, : self.until]
        by_bucket = minutes.reshape(rows, self.buckets, self.bucket).sum(axis=2)
        taken, shelves = of_way[all_.want_way], len(self.supply.shelves)
        grams = np.bincount(all_.want_shelf, all_.want * taken, shelves)
        return np.concatenate([by_bucket.ravel(), grams, np.bincount(all_.want_shelf, taken, shelves)])

    def climb(
        self, stop: Callable[[], bool] = lambda: False, tell: Callable[[float], None] | None = None
    ) -> float:
        """Look for better prices, and prove each by every minute of every stay.

        Parameters
        ----------
        stop : callable
            Asked at every step; True ends the climb with the best bound so far.
        tell : callable or None
            Told each better bound, late hours.

        Returns
        -------
        float
            Late hours that no valid plan goes under.
        """
        price = self.price
        for blur_min in BLURS_MIN:
            if stop() or not self.offers.jobs:
                break
            price = self._climb_blurred(price, blur_min, stop)
            value = self.look(price)
            if value > self.best:
                self.best, self.price = value, price
                if tell is not None:
                    tell(self.late_hours)
        return self.late_hours

    def _climb_blurred(self, price: Floats, blur_min: float, stop: Callable[[], bool]) -> Floats:
        best: tuple[float, Floats] = (-math.inf, price)

        def downhill(at: Floats) -> tuple[float, Floats]:
            nonlocal best
            if stop():
                raise _StoppedError
            at = at * self._steps
            value, over = self.soft(at, blur_min)
            if value > best[0]:
                best = (value, at)
            return -value, -over * self._steps

        most = {"maxiter": ROUNDS, "maxfun": 2 * ROUNDS, "maxcor": 20}
        # Stopped by an error because a step may look at several prices, and each look takes its time.
        # One thread: the sums are short, and handing them round took ten times as long on a busy machine.
        with suppress(_StoppedError), threadpool_limits(1, "blas"):
            minimize(
                downhill,
                price / self._steps,
                jac=True,
                method="L-BFGS-B",
                bounds=Bounds(0.0, np.inf),
                options=most,
            )
        return best[1]

    @property
    def late_hours(self) -> float:
        """The bound, less what sums of so many figures may be off."""
        return self.in_hours(self.best, self.price)

    def in_hours(self, value: float, price: Floats) -> float:
        """A bound that some prices prove, weighted minutes, as late hours less that; or the jobs alone."""
        dust = 1e-7 * (abs(value) + float((price * self.capacity).sum()))
        return max(self.alone, value - dust) / 60.0
