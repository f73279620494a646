"""People's windows beyond the last shift that a scenario names: its last week goes on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.model import Scenario

DAY_MIN = 24 * 60
#: Days that are looked at after everything planned has ended.
BEYOND_DAYS = 21


class Calendar(NamedTuple):
    """What a replay reads of a crew; ``longest`` is the longest staffed stretch, minutes.

    What no stretch holds is done with someone staying on.
    """

    next_staffed: NDArray[np.int64]
    stretch_end: NDArray[np.int64]
    longest: int


@dataclass(frozen=True, slots=True)
class Crew:
    """Shifts as minutes, and what they come to.

    Parameters
    ----------
    starts, ends, people : arrays of shape (shifts,)
        Windows ``[start, end)`` in minutes from ``plan_start``, cut off at 0, and people in each.
    hands : array of shape (minutes,)
        People of each minute, all shifts added up.
    next_staffed : array of shape (minutes,)
        From each minute the first one, itself included, with anybody there; the length if none.
    stretch_end : array of shape (minutes,)
        Where the staffed stretch of each minute ends; the minute itself if nobody is there.
    """

    starts: NDArray[np.int64]
    ends: NDArray[np.int64]
    people: NDArray[np.int64]
    hands: NDArray[np.int64]
    next_staffed: NDArray[np.int64]
    stretch_end: NDArray[np.int64]

    @property
    def minutes(self) -> int:
        """How far the calendar reaches."""
        return len(self.hands)

    def calendar(self) -> Calendar:
        """The same for a replay."""
        longest = int((self.stretch_end - np.arange(self.minutes)).max(initial=0))
        return Calendar(self.next_staffed, self.stretch_end, longest)


def crew_of(scenario: Scenario, last_min: int) -> Crew:
    """The shifts of a scenario, continued until 21 days after ``last_min``.

    After the last shift the pattern of the last seven days repeats, or of all days if the shifts span
    fewer.
    """
    minute = scenario.site.minute
    given = [(minute(shift.start), minute(shift.end), shift.hands) for shift in scenario.shifts]
    first, last = min(start for start, _, _ in given), max(end for _, end, _ in given)
    length = max(last, last_min, 0) + BEYOND_DAYS * DAY_MIN
    period = DAY_MIN * min(7, -(-(last - first) // DAY_MIN))
    pattern = [window for window in given if window[1] > last - period]
    windows, turn = list(given), 1
    while last + (turn - 1) * period < length:
        for start, end, there in pattern:
            # A window that reaches back over the period's beginning is repeated from there on only.
            windows.append((max(start, last - period) + turn * period, end + turn * period, there))
        turn += 1
    kept = [(max(0, s), min(e, length), h) for s, e, h in windows if e > 0 and s < min(e, length) and h > 0]
    hands: NDArray[np.int64] = np.zeros(length, dtype=np.int64)
    for begins, ends, there in kept:
        hands[begins:ends] += there
    staffed = hands > 0
    places = np.arange(length)
    soonest = np.where(staffed, places, length)
    next_staffed = np.minimum.accumulate(soonest[::-1])[::-1]
    next_gap = np.minimum.accumulate(np.where(staffed, length, places)[::-1])[::-1]
    columns = np.array(kept, dtype=np.int64).reshape(-1, 3)
    return Crew(
        np.ascontiguousarray(columns[:, 0]),
        np.ascontiguousarray(columns[:, 1]),
        np.ascontiguousarray(columns[:, 2]),
        hands,
        np.ascontiguousarray(next_staffed),
        np.ascontiguousarray(next_gap),
    )
