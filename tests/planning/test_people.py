"""When people are there, beside a plain reading of the shifts minute by minute."""

from __future__ import annotations

from random import Random

import pytest

from scheduler.planning.people import people_of
from tests.builders import a_scenario, a_shift


@pytest.mark.parametrize("seed", range(60))
def test_each_minute_is_as_the_shifts_say(seed: int) -> None:
    dice = Random(seed)
    shifts = []
    for _ in range(dice.randint(1, 6)):
        start = dice.randint(-30, 60)
        shifts.append(a_shift(start, start + dice.randint(0, 40), dice.randint(0, 3)))
    scenario = a_scenario(shifts=tuple(shifts))
    minute = scenario.site.minute
    found = people_of(scenario)
    end = max(0, *(minute(shift.end) for shift in shifts))
    assert found.horizon == end
    hands = [sum(s.hands for s in shifts if minute(s.start) <= t < minute(s.end)) for t in range(end)]
    assert found.hands == [*hands, 0]
    for t in range(end):
        later = [u for u in range(t, end) if hands[u] > 0]
        assert found.staffed_next[t] == (later[0] if later else end)
        if hands[t] == 0:
            assert (found.stretch_start[t], found.stretch_end[t]) == (t, t)
            continue
        first = t
        while first > 0 and hands[first - 1] > 0:
            first -= 1
        last = next((u for u in range(t, end) if hands[u] == 0), end)
        assert (found.stretch_start[t], found.stretch_end[t]) == (first, last)
    for t in (end, end + 1):
        assert found.staffed_next[t] == end
        assert found.stretch_start[t] == found.stretch_end[t] == t
