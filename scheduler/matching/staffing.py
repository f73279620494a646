"""When somebody is in the shop."""

from __future__ import annotations

from scheduler.model import Scenario


def staffed_stretches(scenario: Scenario) -> tuple[tuple[int, int], ...]:
    """Stretches with at least one pair of hands, in minutes from ``plan_start``.

    Returns
    -------
    tuple of (start, end)
        In order, half-open, cut off at minute 0; overlapping and adjacent shifts are one stretch.
    """
    minute = scenario.site.minute
    shifts = sorted((minute(s.start), minute(s.end)) for s in scenario.shifts if s.hands > 0)
    stretches: list[tuple[int, int]] = []
    for begins, ends in shifts:
        start = max(begins, 0)
        if start >= ends:
            continue
        if stretches and start <= stretches[-1][1]:
            stretches[-1] = (stretches[-1][0], max(stretches[-1][1], ends))
        else:
            stretches.append((start, ends))
    return tuple(stretches)
