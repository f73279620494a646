"""A chamber's constants from its own log: robust least squares, with how sure each figure is.

Heating at full power is ``T = reach - (reach - T0) exp(-t / tau)``, falling without power is
``T = room + (T0 - room) exp(-t / tau)`` (the contract's formulas). Both are fitted with a loss that
grows only linearly for outliers (soft-L1; Triggs et al. 1999), so that an opened door or a lost reading
does not bend the curve. Intervals are from the curvature at the best fit, Student's t, and the number of
readings that are worth a new one: neighbouring deviations resemble one another (lag-one correlation).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.physics.chart import Chart, Line, Mark
from scheduler.physics.nonsense import Nonsense

Floats = NDArray[np.float64]
Kind = Literal["heating", "cooling"]

LEAST_READINGS = 6
SURE = 0.95
#: Deviations that a good log shows, K; beyond twice this (or 4 % of the span) a fit is called poor.
GOOD_K = 2.0
POOR_SHARE = 0.04
#: An interval wider than this share of its figure is worth a warning.
WIDE_SHARE = 0.2


@dataclass(frozen=True, slots=True)
class Estimate:
    """A fitted figure and its 95 % interval."""

    value: float
    low: float
    high: float

    @property
    def width(self) -> float:
        """Half of the interval."""
        return (self.high - self.low) / 2


@dataclass(frozen=True, slots=True)
class Fit:
    """A chamber's heating or cooling.

    Parameters
    ----------
    tau_min : Estimate
        Time constant, minutes.
    end_c : Estimate
        Where the curve would end: the reach when heating, the room when cooling, °C.
    start_c : float
        Fitted temperature at the first reading, °C.
    minutes, temps_c : arrays
        The readings that were used.
    deviation_k : float
        Scatter of the readings about the curve, K, by their median.
    warnings : tuple of str
    """

    kind: Kind
    tau_min: Estimate
    end_c: Estimate
    start_c: float
    minutes: Floats
    temps_c: Floats
    deviation_k: float
    warnings: tuple[str, ...]

    def at(self, minutes: Floats) -> Floats:
        """The fitted curve, °C."""
        drop = (self.end_c.value - self.start_c) * np.exp(-np.asarray(minutes) / self.tau_min.value)
        return np.asarray(self.end_c.value - drop, dtype=float)

    def chart(self, title: str) -> Chart:
        """Readings, fitted curve, and where it would end."""
        times = np.linspace(0, float(self.minutes[-1]) * 1.3, 60)
        readings = list(zip(self.minutes.tolist(), self.temps_c.tolist(), strict=True))
        curve = list(zip(times.tolist(), self.at(times).tolist(), strict=True))
        end = "reach" if self.kind == "heating" else "room"
        return Chart(
            title=title,
            tells=f"A time constant of {self.tau_min.value:.0f} minutes towards {self.end_c.value:.0f} °C.",
            x_label="minutes",
            y_label="chamber, °C",
            lines=[Line("fit", curve), Line("", readings, dots=True)],
            limits=[Mark(f"{end} {self.end_c.value:.0f} °C", self.end_c.value)],
        )


def fit_heating(minutes: Sequence[float] | Floats, temps_c: Sequence[float] | Floats) -> Fit:
    """Fit the rise at full power; leave out what follows once the controller holds the setpoint."""
    return _fit("heating", *_readings(minutes, temps_c), room_c=None)


def fit_cooling(
    minutes: Sequence[float] | Floats, temps_c: Sequence[float] | Floats, room_c: float | None = None
) -> Fit:
    """Fit the fall without power; ``room_c``, if given, is the known end of it."""
    return _fit("cooling", *_readings(minutes, temps_c), room_c=room_c)


def _readings(minutes: Sequence[float] | Floats, temps_c: Sequence[float] | Floats) -> tuple[Floats, Floats]:
    times, temps = np.asarray(minutes, dtype=float), np.asarray(temps_c, dtype=float)
    if times.shape != temps.shape or times.ndim != 1:
        raise Nonsense(f"{len(times)} times do not go with {len(temps)} temperatures")
    if len(times) < LEAST_READINGS:
        raise Nonsense(f"a fit needs {LEAST_READINGS} readings at the least; there are {len(times)}")
    if not (np.isfinite(times).all() and np.isfinite(temps).all()):
        raise Nonsense("a time or a temperature is no number")
    if (np.diff(times) <= 0).any():
        raise Nonsense("the times do not go forward")
    return times - times[0], temps


def _fit(kind: Kind, minutes: Floats, temps_c: Floats, room_c: float | None) -> Fit:
    from scipy.optimize import least_squares

    span = float(np.ptp(temps_c))
    moved = float(np.median(temps_c[-3:]) - np.median(temps_c[:3]))
    if (moved if kind == "heating" else -moved) < 5:
        what = "rise" if kind == "heating" else "fall"
        raise Nonsense(f"no {what} to fit: from {temps_c[0]:g} to {temps_c[-1]:g} °C")
    duration = float(minutes[-1])
    model = _model(minutes, room_c)
    scale = max(_noise(temps_c), 0.2)
    best = None
    for tau in (duration / 4, duration / 1.5, duration * 2):
        end = temps_c[-1] + moved * 0.3 if room_c is None else room_c
        first = [math.log(tau), temps_c[0]] + ([end] if room_c is None else [])
        # A time constant within reason of the log: a thousandth to a thousand times its length.
        low = [math.log(duration / 1e3), -100.0] + ([-100.0] if room_c is None else [])
        high = [math.log(duration * 1e3), 1000.0] + ([2000.0] if room_c is None else [])
        found = least_squares(
            lambda guess: model(guess) - temps_c, first, loss="soft_l1", f_scale=scale, bounds=(low, high)
        )
        if best is None or found.cost < best.cost:
            best = found
    assert best is not None
    deviations = model(best.x) - temps_c
    spread = _spread(best.jac, deviations, scale)
    tau_min = _estimate(best.x[0], spread[0], math.exp)
    end_c = Estimate(room_c, room_c, room_c) if room_c is not None else _estimate(best.x[2], spread[2], float)
    # By the median, so that a few lost readings do not pass for a bad curve.
    deviation = float(1.4826 * np.median(np.abs(deviations)))
    warnings = _warnings(kind, tau_min, end_c, deviation, span, duration, room_c)
    return Fit(kind, tau_min, end_c, float(best.x[1]), minutes, temps_c, deviation, warnings)


def _model(minutes: Floats, room_c: float | None) -> Callable[[Floats], Floats]:
    def curve(guess: Floats) -> Floats:
        end = guess[2] if room_c is None else room_c
        return np.asarray(end + (guess[1] - end) * np.exp(-minutes / math.exp(guess[0])), dtype=float)

    return curve


def _noise(temps_c: Floats) -> float:
    """Scatter of readings about their neighbours, K: second differences, by their median."""
    second = temps_c[2:] - 2 * temps_c[1:-1] + temps_c[:-2]
    return float(1.4826 * np.median(np.abs(second)) / math.sqrt(6))


def _spread(jacobian: Floats, deviations: Floats, scale: float) -> Floats:
    """Half-widths of the intervals of all parameters."""
    from scipy.stats import t

    count, parameters = jacobian.shape
    # Outliers are counted as the loss counts them.
    capped = np.clip(deviations, -3 * scale, 3 * scale)
    variance = float(capped @ capped) / max(1, count - parameters)
    lag = float(capped[1:] @ capped[:-1]) / max(float(capped @ capped), 1e-12)
    worth = max(parameters + 1.0, count * (1 - max(lag, 0.0)) / (1 + max(lag, 0.0)))
    covariance = np.linalg.pinv(jacobian.T @ jacobian) * variance * count / worth
    quantile = float(t.ppf((1 + SURE) / 2, max(1.0, worth - parameters)))
    return np.asarray(quantile * np.sqrt(np.maximum(np.diag(covariance), 0.0)), dtype=float)


def _estimate(value: float, half: float, back: Callable[[float], float]) -> Estimate:
    half = min(half, 50.0) if back is math.exp else half
    return Estimate(float(back(value)), float(back(value - half)), float(back(value + half)))


def _warnings(
    kind: Kind,
    tau_min: Estimate,
    end_c: Estimate,
    deviation: float,
    span: float,
    duration: float,
    room_c: float | None,
) -> tuple[str, ...]:
    warnings = []
    if deviation > max(2 * GOOD_K, POOR_SHARE * span):
        warnings.append(
            f"poor fit: readings lie {deviation:.1f} K off the curve, more than one time constant explains"
        )
    if duration < tau_min.value:
        warnings.append(
            f"short log: {duration:.0f} min, less than the time constant of {tau_min.value:.0f} min;"
            " log until the setpoint, or longer"
        )
    if tau_min.width > WIDE_SHARE * tau_min.value:
        warnings.append(
            f"unsure: the time constant may be anything from {tau_min.low:.0f} to {tau_min.high:.0f} min"
        )
    if kind == "heating" and end_c.width > WIDE_SHARE * max(1.0, end_c.value):
        warnings.append(f"unsure: the reach may be anything from {end_c.low:.0f} to {end_c.high:.0f} °C")
    if kind == "cooling" and room_c is None and not -10 <= end_c.value <= 60:
        warnings.append(f"the fall ends at {end_c.value:.0f} °C, which is no room; was the heater off?")
    return tuple(warnings)
