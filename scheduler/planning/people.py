"""When people are there, minute by minute."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

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
    hands = np.zeros(horizon + 1, dtype=np.int64)
    for shift in shifts:
        hands[max(0, minute(shift.start)) : max(0, minute(shift.end))] += shift.hands
    places = np.arange(horizon + 2)
    staffed = np.zeros(horizon + 2, dtype=np.bool_)
    staffed[:horizon] = hands[:horizon] > 0
    ahead = np.minimum.accumulate(np.where(staffed, places, horizon)[::-1])[::-1]
    # A minute without anybody is a stretch of no length.
    stretch_end = np.minimum.accumulate(np.where(staffed, horizon, places)[::-1])[::-1]
    stretch_end[horizon:] = places[horizon:]
    begins = staffed & ~np.concatenate(([False], staffed[:-1]))
    last_begin = np.maximum.accumulate(np.where(begins, places, 0))
    stretch_start = np.where(staffed, last_begin, places)
    return People(horizon, hands.tolist(), ahead.tolist(), stretch_start.tolist(), stretch_end.tolist())
