"""Every stay of every job as flat arrays, with the filament that goes into it: what `prices` chooses from."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt

from scheduler.planning.bound.stays import Shop, Stays
from scheduler.planning.bound.supply import Supply
from scheduler.planning.kernel.heat import print_minutes
from scheduler.planning.kernel.tables import NEVER
from scheduler.planning.problem import Task

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

#: Grams that have one price.
UNIT_G = 100.0


@dataclass(frozen=True)
class Offers:
    """All stays of all open jobs, one after the other; those of job ``jobs[i]`` are ``off[i]:off[i + 1]``.

    Parameters
    ----------
    start, end : array of int
        Changeover's start and unload's end, as places among the minutes of all rows.
    late : array of float
        Weighted late minutes.
    option : array of int
        The stay's filament is had in any of the ways ``way_off[option]:way_off[option + 1]``.
    way_off : array of int
        Likewise.
    want_way, want_shelf, want : array
        A way, a shelf of its, and how much it takes from there, in `UNIT_G` grams.
    """

    jobs: list[int]
    off: Whole
    start: Whole
    end: Whole
    late: Floats
    option: Whole
    way_off: Whole
    want_way: Whole
    want_shelf: Whole
    want: Floats


class Offering:
    """Puts the offers of a task together.

    Parameters
    ----------
    until, bucket : int
        Minutes that have a price end there; so many have one price.
    pins : dict
        For each pinned job, the soonest minute at which it could be done if it stands.
    """

    def __init__(
        self, task: Task, shop: Shop, supply: Supply, until: int, bucket: int, pins: dict[int, int]
    ) -> None:
        self.task, self.shop, self.supply = task, shop, supply
        self.until, self.bucket, self.pins = until, bucket, pins
        self.P = task.problem

    def open_jobs(self) -> list[int]:
        """Jobs that something fits and that have not begun."""
        P, S = self.P, self.shop.S
        return [j for j in range(P.jobs) if S.printer[j] < 0 and self.shop.fitting(j)]

    def left_out(self, j: int) -> float:
        """Weighted late minutes of a job without a place."""
        return self.P.j_weight[j] * max(0, self.P.left_out_at - self.P.j_due[j])

    def ways(self, j: int) -> list[tuple[int, list[tuple[int, ...]]]]:
        """For each minute at which the job's filament may be there: shelves for its feeds, in every way.

        Behind the first minute at which there is enough for all, none is worth waiting for.
        """
        shelves = self.supply.shelves
        by_minute: dict[int, list[tuple[int, ...]]] = defaultdict(list)
        for way in product(*(self.supply.of_feed(2 * j + f) for f in range(self.P.j_feeds[j]))):
            by_minute[max(shelves[k].ready for k in way)].append(way)
        out = []
        for minute in sorted(by_minute):
            free = [way for way in by_minute[minute] if all(shelves[k].ample for k in way)]
            out.append((minute, free[:1] or by_minute[minute]))
            if free:
                break
        return out

    def minutes(self, j: int) -> list[int]:
        """The minutes of `ways`; for a pinned job the plan's start."""
        return [0] if j in self.pins else [minute for minute, _ in self.ways(j)]

    def pinned(self, j: int) -> list[Stays]:
        """The one stay of a pinned job, if it can have it."""
        P, done = self.P, self.pins[j]
        if done >= NEVER:
            return []
        job = self.task.scenario.jobs[j]
        assert job.pinned is not None
        p = self.task.names.printers[job.pinned.printer]
        printed = self.task.scenario.site.minute(job.pinned.print_start)
        start = printed - P.start_min - self.shop.preheat(j, p) - P.plate_min
        cell = P.j_recipe[j] * P.printer_kinds + P.p_kind[p]
        end = printed + print_minutes(P, j, p) + P.k_cool_min[cell] + P.unload_min
        late = P.j_weight[j] * max(0.0, done - P.j_due[j])
        return [Stays(self.shop.row_of[p], np.array([max(start, 0)]), np.array([end]), np.array([late]))]

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

    def _flat(self, row: int, minute: Whole) -> Whole:
        return row * (self.until + 1) + np.minimum(minute, self.until)

    def all(self) -> Offers:
        """The offers of all open jobs, each with the one of being left out."""
        rows: list[tuple[Whole, Whole, Floats, Whole]] = []
        wants: list[tuple[int, int, float]] = []
        counts, ways = [0], [0]
        at_none = np.zeros(1, dtype=np.int64)
        jobs, number = self.open_jobs(), 0
        for j in jobs:
            first, pinned = len(rows), j in self.pins
            rows.append((at_none, at_none, np.array([self.left_out(j)]), np.full(1, len(ways) - 1)))
            ways.append(1)
            number += 1
            for minute, alike in [(0, [()])] if pinned else self.ways(j):
                for stays in self.pinned(j) if pinned else self.shop.of_job(j, minute):
                    some = self.some(stays)
                    start, end = (self._flat(stays.row, at[some]) for at in (stays.start, stays.end))
                    rows.append((start, end, stays.late[some], np.full(len(some), len(ways) - 1)))
                for w, way in enumerate(alike):
                    for f, k in enumerate(way):
                        if not self.supply.shelves[k].ample:
                            wants.append((number + w, k, self.P.j_grams[2 * j + f] / UNIT_G))
                ways.append(len(alike))
                number += len(alike)
            counts.append(sum(len(row[0]) for row in rows[first:]))
        none = np.zeros(0, dtype=np.int64)
        rows.append((none, none, np.zeros(0), none))
        start, end, late, option = (np.concatenate(column) for column in zip(*rows, strict=True))
        return Offers(
            jobs,
            np.cumsum(counts),
            start,
            end,
            late,
            option,
            np.cumsum(ways),
            np.array([want[0] for want in wants], dtype=np.int64),
            np.array([want[1] for want in wants], dtype=np.int64),
            np.array([want[2] for want in wants]),
        )
