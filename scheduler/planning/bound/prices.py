"""A bound from prices on machine hours: queues for machines count, not only each job alone.

Let every minute of a row of like machines have a price of nought or more. In a valid plan no machine
holds two jobs at once, so what all stays pay together is at most what all minutes cost. Hence, for any
prices,

    late_cost ≥ Σ over jobs (least of: late minutes + price of the stay) − price of all minutes.

This is the Lagrangian dual of a time-indexed model of the machines, in which no job is cut into pieces; a
transport model that cuts jobs is at most as strong (Pan and Shi 2007, "On the equivalence of the max-min
transportation lower bound and the time-indexed lower bound for single-machine scheduling problems",
Mathematical Programming 110). Prices need not be the best ones for the bound to hold. Good ones are found
by climbing: minutes that more jobs ask for than there are machines get dearer. The least over a job's
stays has corners, so it is blurred, log-sum-exp for the minimum, less and less (Nesterov 2005, "Smooth
minimization of non-smooth functions", Mathematical Programming 103); the rest is L-BFGS-B.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, minimize
from threadpoolctl import threadpool_limits

from scheduler.planning.bound.alone import done_as_pinned, eased_state, late_alone
from scheduler.planning.bound.stays import Shop, Stays
from scheduler.planning.construct import Base
from scheduler.planning.kernel.alone import done_alone
from scheduler.planning.kernel.heat import print_minutes
from scheduler.planning.kernel.tables import NEVER

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

#: Minutes that have one price, and in a shop of more jobs times printers than `MIDDLE`.
BUCKET_MIN, COARSE_MIN = 30, 60
MIDDLE = 2_000
#: How much the least over a job's stays is blurred, one climb each, weighted late minutes.
BLURS_MIN = (300.0, 100.0, 40.0, 20.0, 10.0, 5.0, 2.0, 0.7)
#: Steps of each climb.
ROUNDS = 30
#: How far behind the last due date minutes still have a price.
BEHIND_MIN = 4 * 24 * 60


class _StoppedError(Exception):
    """The climb was asked to end."""


@dataclass(frozen=True)
class Offers:
    """All stays of all jobs, one after the other; those of job ``jobs[i]`` are ``off[i]:off[i + 1]``."""

    jobs: list[int]
    off: Whole
    start: Whole
    end: Whole
    late: Floats


class Prices:
    """The bound of one task and the prices that prove it.

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
            bucket_min = BUCKET_MIN if self.P.jobs * self.P.printers <= MIDDLE else COARSE_MIN
        self.bucket = bucket_min
        self.until = max(1, min(self.P.horizon, max(dues, default=0) + BEHIND_MIN))
        self.buckets = -(-self.until // bucket_min)
        self.until = self.buckets * bucket_min
        self.shop = Shop(self.P, self.S, self.until)
        self.pins = done_as_pinned(task)
        alone = late_alone(base, None)
        self.fixed = sum(alone[j] for j in range(self.P.jobs) if self.S.printer[j] >= 0)
        self.alone = sum(alone)
        self.capacity = self._capacity()
        self.price = np.zeros_like(self.capacity)
        self.best = self.alone
        self.offers = self._offers()

    def _capacity(self) -> Floats:
        """Machine minutes of each row in each bucket, counted from where work under way ends."""
        rows, shop = len(self.shop.rows), self.shop
        minutes = np.zeros((rows, self.until))
        for p in range(self.P.printers):
            minutes[shop.row_of[p], min(self.until, shop.floor[p]) :] += 1
        return np.asarray(minutes.reshape(rows, self.buckets, self.bucket).sum(axis=2))

    def _stays(self, j: int) -> list[Stays]:
        P, fit = self.P, self.P.j_fit[j]
        if j in self.pins:
            return self._pinned(j)
        spool_at = self.shop.spool_at(j)
        soonest = {
            p: done_alone(P, self.S, j, p, spool_at)
            for p in P.fit_printer[P.fit_off[fit] : P.fit_off[fit + 1]]
        }
        return list(self.shop.of_job(j, soonest))

    def _pinned(self, j: int) -> list[Stays]:
        """The one stay of a pinned job, if it can have it."""
        P, done = self.P, self.pins[j]
        if done >= NEVER:
            return []
        job = self.base.task.scenario.jobs[j]
        assert job.pinned is not None
        p = self.base.task.names.printers[job.pinned.printer]
        printed = self.base.task.scenario.site.minute(job.pinned.print_start)
        start = printed - P.start_min - self.shop.preheat(j, p) - P.plate_min
        cell = P.j_recipe[j] * P.printer_kinds + P.p_kind[p]
        end = printed + print_minutes(P, j, p) + P.k_cool_min[cell] + P.unload_min
        late = P.j_weight[j] * max(0.0, done - P.j_due[j])
        return [Stays(self.shop.row_of[p], np.array([max(start, 0)]), np.array([end]), np.array([late]))]

    def left_out(self, j: int) -> float:
        """Weighted late minutes of a job without a place."""
        return self.P.j_weight[j] * max(0, self.P.left_out_at - self.P.j_due[j])

    def _flat(self, row: int, minute: Whole) -> Whole:
        return row * (self.until + 1) + np.minimum(minute, self.until)

    def _offers(self) -> Offers:
        """Of each job's stays those that can be cheapest; between two of them all is linear."""
        P = self.P
        jobs: list[int] = []
        off, starts, ends, lates = [0], [], [], []  # type: list[int], list[Whole], list[Whole], list[Floats]
        for j in range(P.jobs):
            if self.S.printer[j] >= 0 or P.fit_off[P.j_fit[j]] == P.fit_off[P.j_fit[j] + 1]:
                continue
            count = 1
            starts.append(np.zeros(1, dtype=np.int64))
            ends.append(np.zeros(1, dtype=np.int64))
            lates.append(np.array([self.left_out(j)]))
            for stays in self._stays(j):
                some = self.some(stays)
                starts.append(self._flat(stays.row, stays.start[some]))
                ends.append(self._flat(stays.row, stays.end[some]))
                lates.append(stays.late[some])
                count += len(some)
            jobs.append(j)
            off.append(off[-1] + count)
        if not jobs:
            none = np.zeros(0, dtype=np.int64)
            return Offers([], np.zeros(1, dtype=np.int64), none, none, np.zeros(0))
        return Offers(
            jobs, np.array(off), np.concatenate(starts), np.concatenate(ends), np.concatenate(lates)
        )

    def some(self, stays: Stays) -> Whole:
        """Which of a machine's stays can be the cheapest, whatever the prices."""
        start, end = stays.start, stays.end
        keep = (start % self.bucket == 0) | (end % self.bucket == 0) | (start >= self.until)
        keep[0] = keep[-1] = True
        # Before and behind each jump of start, end or lateness; between two jumps all of them are linear.
        slope = [np.diff(start), np.diff(end), np.diff(stays.late)]
        jump = (slope[0] > 1) | (slope[1] > 1)
        keep[:-1] |= jump
        keep[1:] |= jump
        for steps in slope:
            # Weights that are no binary fractions leave dust in the steps of lateness.
            keep[1:-1] |= np.abs(np.diff(steps)) > 1e-6
        return np.flatnonzero(keep)

    def sums(self, price: Floats) -> Floats:
        """Price of all minutes of each row before each minute."""
        rows = len(price)
        out = np.zeros((rows, self.until + 1))
        np.cumsum(np.repeat(price, self.bucket, axis=1), axis=1, out=out[:, 1:])
        return out.ravel()

    def look(self, price: Floats) -> float:
        """The bound that some prices prove, weighted late minutes."""
        all_, sums = self.offers, self.sums(price)
        if not all_.jobs:
            return self.fixed
        least = np.minimum.reduceat(all_.late + (sums[all_.end] - sums[all_.start]), all_.off[:-1])
        return self.fixed + math.fsum(least.tolist()) - math.fsum((price * self.capacity).ravel().tolist())

    def soft(self, price: Floats, blur: float) -> tuple[float, Floats]:
        """The bound with the least over each job's stays blurred, never above it; and its slopes."""
        all_, sums = self.offers, self.sums(price)
        value = all_.late + (sums[all_.end] - sums[all_.start])
        least = np.minimum.reduceat(value, all_.off[:-1])
        counts = np.diff(all_.off)
        weight = np.exp((np.repeat(least, counts) - value) / blur)
        mass = np.add.reduceat(weight, all_.off[:-1])
        total = self.fixed + float((least - blur * np.log(mass)).sum())
        weight /= np.repeat(mass, counts)
        size = len(price) * (self.until + 1)
        used = np.bincount(all_.start, weight, size) - np.bincount(all_.end, weight, size)
        asked = np.cumsum(used.reshape(len(price), -1), axis=1)[:, : self.until]
        over = asked.reshape(len(price), self.buckets, self.bucket).sum(axis=2) - self.capacity
        return total - float((price * self.capacity).sum()), over

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

        def downhill(flat: Floats) -> tuple[float, Floats]:
            nonlocal best
            if stop():
                raise _StoppedError
            at = flat.reshape(price.shape)
            value, over = self.soft(at, blur_min)
            if value > best[0]:
                best = (value, at.copy())
            return -value, -over.ravel()

        most = {"maxiter": ROUNDS, "maxfun": 2 * ROUNDS, "maxcor": 20}
        # Stopped by an error because a step may look at several prices, and each look takes its time.
        # One thread: the sums are short, and handing them round took ten times as long on a busy machine.
        with suppress(_StoppedError), threadpool_limits(1, "blas"):
            minimize(
                downhill, price.ravel(), jac=True, method="L-BFGS-B", bounds=Bounds(0.0, np.inf), options=most
            )
        return best[1]

    @property
    def late_hours(self) -> float:
        """The bound, less what sums of so many figures may be off."""
        return (
            max(self.alone, self.best - 1e-7 * (abs(self.best) + float((self.price * self.capacity).sum())))
            / 60.0
        )
