"""A dryer's coil factor from weighings: the spool before and after a run.

What a run takes off depends on how hard the coil and the dryer's air make it for water to leave; the
factor on that resistance is found by robust least squares over all weighings of a dryer. Where the
strand itself is the bottle-neck the weighings say little, and the interval shows it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scheduler.physics.fitting import SURE, Estimate
from scheduler.physics.moisture.air import Air
from scheduler.physics.moisture.drying import DryerAir, end_of_run
from scheduler.physics.moisture.polymer import Polymer
from scheduler.physics.moisture.strand import Strand
from scheduler.physics.nonsense import Nonsense, at_least, positive, within

Floats = NDArray[np.float64]
#: What a workshop's scale and a moved spool leave unsure, g (estimate).
SCALE_G = 0.3
#: A run longer than half a year was mistyped, hours.
LONGEST_H = 4400.0
#: The factor is looked for between these.
LEAST, MOST = 0.02, 50.0


@dataclass(frozen=True, slots=True)
class Weighing:
    """One run, weighed.

    Parameters
    ----------
    before_g, after_g : float
        Of spool and body together.
    body_g : float
        The empty body.
    hours : float
        In the dryer at its setpoint.
    stored_pct : float
        Relative humidity of the room where the spool had lain until it changed no more, %.
    """

    polymer: Polymer
    filament_mm: float
    before_g: float
    after_g: float
    body_g: float
    temp_c: float
    hours: float
    vacuum: bool
    stored_pct: float

    def __post_init__(self) -> None:
        positive("the weight before", self.before_g, "g")
        at_least("the body's weight", self.body_g, 0, "g")
        within("the hours in the dryer", self.hours, 0.01, LONGEST_H, "h")
        within("the relative humidity", self.stored_pct, 0, 100, "%")
        if self.after_g <= self.body_g or self.before_g <= self.body_g:
            raise Nonsense(
                f"the spool weighs {min(self.before_g, self.after_g):g} g and its body {self.body_g:g} g;"
                " there is no filament left"
            )
        if self.after_g > self.before_g + 3 * SCALE_G:
            raise Nonsense(
                f"the spool gained {self.after_g - self.before_g:.1f} g in the dryer"
                f" ({self.before_g:g} to {self.after_g:g} g); were the weights swapped?"
            )

    @property
    def lost_g(self) -> float:
        """Water that left, g."""
        return self.before_g - self.after_g

    def expected_g(self, dryer: DryerAir, room: Air) -> float:
        """Water that the model says would have left, g."""
        wet_pct = self.polymer.isotherm.moisture_pct(self.stored_pct / 100, room.temp_c)
        wet = Strand.even(self.filament_mm, wet_pct, rings=48)
        around = dryer.around(room, self.temp_c, self.vacuum)
        dried = end_of_run(self.polymer, wet, around, self.hours)
        dry_g = (self.before_g - self.body_g) / (1 + wet_pct / 100)
        return dry_g * (wet_pct - dried.mean_pct) / 100


@dataclass(frozen=True, slots=True)
class Calibration:
    """A dryer's factor, what is left unexplained, g, and sentences to be told with it."""

    factor: Estimate
    deviation_g: float
    warnings: tuple[str, ...]


def calibrate(weighings: Sequence[Weighing], dryer: DryerAir, room: Air) -> Calibration:
    """The coil factor that explains a dryer's weighings best; with one weighing, only roughly."""
    from scipy.optimize import least_squares
    from scipy.stats import t

    if not weighings:
        raise Nonsense("no weighing of the dryer is recorded")

    # The logarithm is counted from under the least, because steps of the search are shares of it.
    zero = math.log(LEAST) - 1

    def off(guess: Floats) -> Floats:
        with_factor = replace(dryer, coil_factor=math.exp(float(guess[0]) + zero))
        return np.asarray([each.expected_g(with_factor, room) - each.lost_g for each in weighings])

    bounds = (1.0, math.log(MOST) - zero)
    starts = (math.log(0.2) - zero, -zero, math.log(5.0) - zero)
    fits = [
        least_squares(
            off, [start], bounds=([bounds[0]], [bounds[1]]), loss="soft_l1", f_scale=SCALE_G, diff_step=1e-3
        )
        for start in starts
    ]
    best = min(fits, key=lambda fit: float(fit.cost))
    left = off(best.x)
    freedom = len(weighings) - 1
    scatter = max(SCALE_G**2, float(left @ left) / freedom if freedom else 0.0)
    slope = float(best.jac[:, 0] @ best.jac[:, 0])
    quantile = float(t.ppf((1 + SURE) / 2, freedom)) if freedom else 2.0
    half = quantile * math.sqrt(scatter / slope) if slope > 0 else math.inf
    low, high = (min(max(best.x[0] + sign * half, bounds[0]), bounds[1]) for sign in (-1, 1))
    factor = Estimate(*(math.exp(each + zero) for each in (best.x[0], low, high)))
    deviation = float(np.sqrt(np.mean(left**2)))
    return Calibration(factor, deviation, _warnings(factor, deviation, weighings))


def _warnings(factor: Estimate, deviation_g: float, weighings: Sequence[Weighing]) -> tuple[str, ...]:
    warnings = []
    if factor.high > 4 * factor.low:
        warnings.append(
            f"these weighings hardly tell: the factor may be anything from {factor.low:.2g} to"
            f" {factor.high:.2g}; weigh polyamide or a shorter run"
        )
    if deviation_g > 4 * SCALE_G:
        warnings.append(
            f"the weighings disagree with the model by {deviation_g:.1f} g:"
            " was the spool as humid as stated, and is it the stated polymer?"
        )
    if len(weighings) == 1:
        warnings.append("one weighing is no proof; three of different length make one")
    return tuple(warnings)
