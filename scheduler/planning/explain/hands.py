"""When people are there and what they are busy with: why attended work had to wait."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Why = Literal["night", "hands", "free"]


@dataclass(frozen=True, slots=True)
class Task:
    """Attended work over ``[start, end)`` minutes and its words."""

    start: int
    end: int
    words: str


@dataclass(frozen=True, slots=True)
class Stretch:
    """Minutes ``[start, end)`` in which work waited, and why."""

    start: int
    end: int
    why: Why


class Hands:
    """People over time against the attended work of a plan.

    Parameters
    ----------
    shifts : (start, end, hands) minutes
    tasks : attended work of the whole plan
    """

    def __init__(self, shifts: Iterable[tuple[int, int, int]], tasks: Iterable[Task]) -> None:
        change: dict[int, tuple[int, int]] = {}

        def add(minute: int, people: int, busy: int) -> None:
            had = change.get(minute, (0, 0))
            change[minute] = (had[0] + people, had[1] + busy)

        for start, end, hands in shifts:
            add(start, hands, 0)
            add(end, -hands, 0)
        self._tasks = sorted((task for task in tasks if task.end > task.start), key=lambda task: task.start)
        for task in self._tasks:
            add(task.start, 0, 1)
            add(task.end, 0, -1)
        self._starts = [task.start for task in self._tasks]
        self._longest = max((task.end - task.start for task in self._tasks), default=0)
        self._edges: list[int] = sorted(change)
        self._people: list[int] = []
        self._busy: list[int] = []
        people = busy = 0
        for edge in self._edges:
            people, busy = people + change[edge][0], busy + change[edge][1]
            self._people.append(people)
            self._busy.append(busy)

    def people(self, minute: int) -> int:
        """Hands in the shop at a minute."""
        place = bisect_right(self._edges, minute) - 1
        return self._people[place] if place >= 0 else 0

    def next_arrival(self, minute: int) -> int | None:
        """The first minute at or after this one with somebody there."""
        place = max(bisect_right(self._edges, minute) - 1, 0)
        for k in range(place, len(self._edges)):
            if self._people[k] > 0:
                return max(minute, self._edges[k])
        return None

    def last_leaves(self, minute: int) -> int:
        """The end of the staffed stretch around a minute; the minute itself if nobody is there."""
        place = bisect_right(self._edges, minute) - 1
        while 0 <= place < len(self._edges) and self._people[place] > 0:
            place += 1
        return max(minute, self._edges[place]) if 0 <= place < len(self._edges) else minute

    def busy_with(self, start: int, end: int) -> list[str]:
        """The attended work that overlaps ``[start, end)``, first begun first."""
        first = bisect_right(self._starts, start - self._longest - 1)
        found = []
        for task in self._tasks[first:]:
            if task.start >= end:
                break
            if task.end > start:
                found.append(task.words)
        return found

    def stretches(self, ready: int, start: int, length: int) -> list[Stretch]:
        """Why work of ``length`` minutes that was ready at ``ready`` began only at ``start``.

        The answer covers ``[ready, start)`` without gaps. ``free``: it would have found hands, so that
        something else decided. A stretch too short for the work counts to what ends it.
        """
        if start <= ready:
            return []
        cells = self._cells(ready, start, length)
        fits_from = self._first_fit(cells, length, start)
        found: list[Stretch] = []
        for k, (begin, end, state) in enumerate(cells):
            if begin >= fits_from:
                break
            why: Why = "night" if state == "night" else "hands"
            if state == "free":  # too short: blame what cuts it off
                after = [cell[2] for cell in cells[k + 1 :] if cell[2] != "free"]
                why = "hands" if after and after[0] == "hands" else "night"
            self._join(found, Stretch(begin, min(end, fits_from), why))
        if fits_from < start:
            self._join(found, Stretch(fits_from, start, "free"))
        return found

    def _cells(self, ready: int, start: int, length: int) -> list[tuple[int, int, Why]]:
        """``[ready, start + length)`` in pieces of one state, the work itself taken out of the count."""
        horizon = start + length
        place = bisect_right(self._edges, ready) - 1
        cells: list[tuple[int, int, Why]] = []
        cursor = ready
        while cursor < horizon:
            until = self._edges[place + 1] if place + 1 < len(self._edges) else horizon
            people = self._people[place] if place >= 0 else 0
            busy = self._busy[place] if place >= 0 else 0
            for end in sorted({min(start, until), min(until, horizon)}):
                if end > cursor:
                    own = 1 if cursor >= start else 0
                    state: Why = "night" if people == 0 else "free" if people > busy - own else "hands"
                    cells.append((cursor, end, state))
                    cursor = end
            place += 1
        return cells

    @staticmethod
    def _first_fit(cells: list[tuple[int, int, Why]], length: int, start: int) -> int:
        free_since: int | None = None
        for begin, end, state in cells:
            if state != "free":
                free_since = None
                continue
            if free_since is None:
                free_since = begin
            if end - free_since >= length:
                return min(free_since, start)
        return start

    @staticmethod
    def _join(found: list[Stretch], stretch: Stretch) -> None:
        if found and found[-1].why == stretch.why:
            stretch = Stretch(found.pop().start, stretch.end, stretch.why)
        found.append(stretch)
