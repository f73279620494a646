"""When people are there, minute by minute."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from scheduler.model import Scenario, Shift, Site


@dataclass(frozen=True)
class People:
    """Hands from the plan's start to the end of the last shift.

    ``hands[t]`` people are there in minute ``t``; the other lists are those of the decoder's
    `Problem`, each one longer than ``horizon``.
    """

    horizon: int
    hands: list[int]
    staffed_next: list[int]
    stretch_start: list[int]
    stretch_end: list[int]


def people_of(scenario: Scenario) -> People:
    """Add up the shifts; the lists are shared and must not be changed."""
    return _added_up(scenario.site, scenario.shifts)


@lru_cache(maxsize=8)
def _added_up(site: Site, shifts: tuple[Shift, ...]) -> People:
    minute = site.minute
    horizon = max(0, max(minute(shift.end) for shift in shifts))
    change = [0] * (horizon + 2)
    for shift in shifts:
        start, end = max(0, minute(shift.start)), max(0, minute(shift.end))
        if end > start:
            change[start] += shift.hands
            change[end] -= shift.hands
    hands, now = [], 0
    for t in range(horizon + 1):
        now += change[t]
        hands.append(now)
    ahead = [horizon] * (horizon + 2)
    stretch_end = list(range(horizon + 2))
    for t in range(horizon - 1, -1, -1):
        ahead[t] = t if hands[t] > 0 else ahead[t + 1]
        if hands[t] > 0:
            stretch_end[t] = stretch_end[t + 1] if hands[t + 1] > 0 else t + 1
    stretch_start = list(range(horizon + 2))
    for t in range(1, horizon):
        if hands[t] > 0 and hands[t - 1] > 0:
            stretch_start[t] = stretch_start[t - 1]
    return People(horizon, hands, ahead, stretch_start, stretch_end)
