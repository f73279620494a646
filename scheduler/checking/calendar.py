"""Minutes from ``plan_start`` to the last shift's end, and which of them still have something free."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import accumulate

from scheduler.checking.hands import attended
from scheduler.checking.people import people
from scheduler.checking.view import View
from scheduler.model import Downtime


class Taken:
    """Minutes ``0 … length`` of which some are taken; all beyond are."""

    def __init__(self, taken: list[bool]) -> None:
        self.length = len(taken)
        self._before = [0, *accumulate(taken)]
        self._next_free = [self.length] * (self.length + 1)
        self._next_taken = [self.length] * (self.length + 1)
        self._last_free = [-1] * (self.length + 1)
        for minute in range(self.length - 1, -1, -1):
            self._next_free[minute] = self._next_free[minute + 1] if taken[minute] else minute
            self._next_taken[minute] = minute if taken[minute] else self._next_taken[minute + 1]
        for minute in range(self.length):
            self._last_free[minute + 1] = self._last_free[minute] if taken[minute] else minute

    def free(self, start: int, end: int) -> bool:
        """True if no minute of ``[start, end)`` is taken."""
        if start >= end:
            return True
        return start >= 0 and end <= self.length and self._before[end] == self._before[start]

    def next_free(self, minute: int) -> int:
        """The first free minute from ``minute`` on; ``length`` if there is none."""
        return self._next_free[minute] if minute < self.length else self.length

    def latest(self, end: int, length: int, floor: int) -> int | None:
        """The latest start from ``floor`` on of ``length`` free minutes that are over by ``end``."""
        start = min(end, self.length) - length if length > 0 else end
        while start >= max(0, floor):
            taken = self._next_taken[start] if length > 0 else self.length
            if taken >= start + length:
                return start
            start = taken - length
        return None

    def last_free(self, minute: int) -> int:
        """The last free minute before ``minute``; -1 if there is none."""
        return self._last_free[min(minute, self.length)] if minute > 0 else -1


def horizon(view: View) -> int:
    """The minute at which the last shift ends."""
    return max(0, view.scenario.site.minute(max(shift.end for shift in view.scenario.shifts)))


def without_a_hand(view: View) -> Taken:
    """Minutes in which nobody has a hand free."""
    length, there = horizon(view), people(view.scenario)
    free = [there.at(minute) for minute in range(length)]
    for work in attended(view):
        for minute in range(max(0, work.start), min(work.end, length)):
            free[minute] -= 1
    return Taken([count <= 0 for count in free])


def unstaffed(view: View) -> Taken:
    """Minutes in which nobody is there."""
    there = people(view.scenario)
    return Taken([there.at(minute) <= 0 for minute in range(horizon(view))])


def gaps(stays: Iterable[tuple[int, int]], floor: int, ceiling: int) -> list[tuple[int, int]]:
    """What ``stays`` leave of ``[floor, ceiling)``, in order."""
    left, now = [], floor
    for start, end in sorted(stays):
        if start > now:
            left.append((now, min(start, ceiling)))
        now = max(now, end)
    left.append((now, ceiling))
    return [(start, end) for start, end in left if start < end]


def common(one: list[tuple[int, int]], other: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The parts that two lists of gaps share."""
    parts = [(max(a, c), min(b, d)) for a, b in one for c, d in other]
    return sorted((start, end) for start, end in parts if start < end)


def clear_of(view: View, downtimes: Iterable[Downtime], start: int, end: int) -> bool:
    """True if ``[start, end)`` meets none of the downtimes."""
    minute = view.scenario.site.minute
    return start >= end or all(max(start, minute(d.start)) >= min(end, minute(d.end)) for d in downtimes)
