"""When people are there, as minutes from ``plan_start``."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from scheduler.model import Scenario


@dataclass(frozen=True, slots=True)
class People:
    """Hands as a step function of time, and the stretches in which there is at least one.

    ``hands[i]`` people are there from ``times[i]`` to ``times[i + 1]``, nobody outside.
    """

    times: tuple[int, ...]
    hands: tuple[int, ...]
    stretches: tuple[tuple[int, int], ...]

    def at(self, minute: int) -> int:
        """People there in that minute."""
        index = bisect_right(self.times, minute) - 1
        return self.hands[index] if index >= 0 else 0

    def covers(self, start: int, end: int) -> bool:
        """True if every minute of ``[start, end)`` is staffed; an empty stretch needs nobody."""
        if start >= end:
            return True
        index = bisect_right(self.stretches, (start, 1 << 62)) - 1
        return index >= 0 and end <= self.stretches[index][1]


def people(scenario: Scenario) -> People:
    """Add up the shifts; adjacent and overlapping windows join."""
    changes: dict[int, int] = {}
    for shift in scenario.shifts:
        start, end = scenario.site.minute(shift.start), scenario.site.minute(shift.end)
        if start < end:
            changes[start] = changes.get(start, 0) + shift.hands
            changes[end] = changes.get(end, 0) - shift.hands
    times = tuple(sorted(changes))
    hands, there = [], 0
    for time in times:
        there += changes[time]
        hands.append(there)
    stretches: list[tuple[int, int]] = []
    for index in range(len(times) - 1):
        if hands[index] <= 0:
            continue
        start, end = times[index], times[index + 1]
        if stretches and stretches[-1][1] == start:
            start = stretches.pop()[0]
        stretches.append((start, end))
    return People(times, tuple(hands), tuple(stretches))
