"""Whether a heater still reaches its rating: the fitted reach of one log after another.

An element that fails, or a door that leaks, shows as a chamber whose reach falls from log to log. The
line through the fits is by weighted least squares, each weighed by how sure it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from scheduler.physics.fitting import SURE, Estimate
from scheduler.physics.nonsense import Nonsense

#: A fall that is no more than this in a year is wear that nobody acts on, K.
SLIGHT_K_PER_YEAR = 3.0
#: Between setpoint and reach there must be this much for the chamber to get there in time, K.
HEADROOM_K = 5.0


@dataclass(frozen=True, slots=True)
class Reach:
    """One log's reach, on the day that the log was taken."""

    day: date
    reach: Estimate


@dataclass(frozen=True, slots=True)
class Trend:
    """How the reach goes.

    Parameters
    ----------
    per_year : Estimate or None
        Change of the reach, K a year; ``None`` for fewer than three logs.
    falls : bool
        True if it falls more than slightly, and surely so.
    weak : bool
        True if the newest log's reach is surely under the recorded one, or too low for the hottest setpoint.
    spent_on : date or None
        When a falling reach meets the hottest setpoint, should it go on like this.
    text : str
        A sentence for a person.
    """

    per_year: Estimate | None
    falls: bool
    weak: bool
    spent_on: date | None
    text: str


def trend(logs: Sequence[Reach], recorded_c: float, hottest_c: float) -> Trend:
    """Judge a printer's reach.

    Parameters
    ----------
    recorded_c : float
        The reach that planning works with, °C.
    hottest_c : float
        The hottest setpoint of the chamber, °C.
    """
    if not logs:
        raise Nonsense("no log of the chamber is recorded")
    ordered = sorted(logs, key=lambda log: log.day)
    newest = ordered[-1]
    weak = newest.reach.high < recorded_c or newest.reach.value < hottest_c + HEADROOM_K
    per_year, level = _line(ordered)
    falls = per_year is not None and per_year.high < 0 and per_year.value < -SLIGHT_K_PER_YEAR
    spent_on = None
    if falls and per_year is not None and level > hottest_c:
        days = (level - hottest_c) / -per_year.value * 365.25
        spent_on = newest.day + timedelta(days=days) if days < 3650 else None
    return Trend(per_year, falls, weak, spent_on, _text(newest, recorded_c, per_year, falls, weak, spent_on))


def _line(logs: Sequence[Reach]) -> tuple[Estimate | None, float]:
    """Slope a year with its interval, and the line's value at the newest log."""
    from scipy.stats import t

    if len(logs) < 3 or logs[0].day == logs[-1].day:
        return None, logs[-1].reach.value
    years = np.asarray([(log.day - logs[-1].day).days / 365.25 for log in logs])
    values = np.asarray([log.reach.value for log in logs])
    weights = 1 / np.maximum([log.reach.width for log in logs], 0.5) ** 2
    design = np.stack([np.ones_like(years), years], axis=1)
    inverse = np.linalg.inv(design.T @ (design * weights[:, None]))
    level, slope = inverse @ (design.T @ (weights * values))
    left = values - design @ np.array([level, slope])
    freedom = len(logs) - 2
    # Logs scatter more than their own intervals say when rooms and doors differ; never less.
    scatter = max(float(weights @ left**2) / freedom, 0.25)
    half = float(t.ppf((1 + SURE) / 2, freedom) * math.sqrt(inverse[1, 1] * scatter))
    return Estimate(float(slope), float(slope) - half, float(slope) + half), float(level)


def _text(
    newest: Reach,
    recorded_c: float,
    per_year: Estimate | None,
    falls: bool,
    weak: bool,
    spent_on: date | None,
) -> str:
    reach = newest.reach
    now = f"the chamber would reach {reach.value:.0f} °C ({reach.low:.0f} to {reach.high:.0f})"
    if falls and per_year is not None:
        ends = (
            f"; on {spent_on.day} {spent_on:%B %Y} it would no longer get to its hottest setpoint"
            if spent_on
            else ""
        )
        return f"{now} and falls by {-per_year.value:.0f} K a year: look at element, fan and door seal{ends}"
    if weak:
        return f"{now}; {recorded_c:.0f} °C are on record: plan with less, look at element and door seal"
    return f"{now}; {recorded_c:.0f} °C are on record"
