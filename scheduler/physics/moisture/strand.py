"""One filament through a history of conditions, its radial profile kept from stage to stage."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scheduler.physics.moisture.grid import FINE, Modes, grid, modes, rounded_biot
from scheduler.physics.nonsense import Nonsense, at_least, positive, within

Floats = NDArray[np.float64]

#: Longest time that is looked ahead, minutes: half a year.
HORIZON_MIN = 183 * 1440.0


@dataclass(frozen=True, slots=True)
class Stage:
    """Constant conditions: where the water is drawn to, and how fast.

    Parameters
    ----------
    diffusivity_m2_per_s : float
        Of water in the filament at the stage's temperature.
    equilibrium_pct : float
        Moisture in equilibrium with the stage's air, % of dry mass.
    biot : float
        Conductance of surface, coil and air times radius over diffusivity; infinite: none resists.
    """

    diffusivity_m2_per_s: float
    equilibrium_pct: float
    biot: float

    def __post_init__(self) -> None:
        positive("the diffusivity", self.diffusivity_m2_per_s, "m²/s")
        at_least("the equilibrium moisture", self.equilibrium_pct, 0, "%")
        if not self.biot > 0:
            raise Nonsense(f"the Biot number is {self.biot:g}; it must be above 0")


@dataclass(frozen=True, slots=True)
class Strand:
    """A filament and the moisture in its rings, from the axis outwards, % of dry mass."""

    radius_m: float
    profile: Floats

    @classmethod
    def even(cls, filament_mm: float, moisture_pct: float, rings: int = FINE) -> Strand:
        """A filament with the same moisture all through."""
        radius_m = within("the filament's diameter", filament_mm, 0.1, 10, "mm") / 2e3
        at_least("the moisture", moisture_pct, 0, "%")
        return cls(radius_m, np.full(rings, float(moisture_pct)))

    @property
    def mean_pct(self) -> float:
        """Moisture of the whole, % of dry mass."""
        return grid(len(self.profile)).mean(self.profile)

    def after(self, stage: Stage, minutes: float) -> Strand:
        """The same filament ``minutes`` into a stage."""
        at_least("the time", minutes, 0, "min")
        shapes = self._modes(stage)
        weights = shapes.weights(self.profile - stage.equilibrium_pct)
        difference = shapes.difference(weights, self._fourier(stage, minutes))
        return replace(self, profile=np.maximum(stage.equilibrium_pct + difference, 0.0))

    def means(self, stage: Stage, minutes: Floats) -> Floats:
        """Mean moisture at instants of a stage, %."""
        rates, share = self._mean_modes(stage)
        fourier = stage.diffusivity_m2_per_s * 60 / self.radius_m**2 * np.asarray(minutes, dtype=float)
        return np.asarray(stage.equilibrium_pct + np.exp(-np.outer(fourier, rates)) @ share, dtype=float)

    def minutes_until(self, moisture_pct: float, stage: Stage) -> float | None:
        """Minutes until the mean is ``moisture_pct``; ``None`` where it never is or takes half a year."""
        from scipy.optimize import brentq

        start, end = self.mean_pct, stage.equilibrium_pct
        if start == moisture_pct:
            return 0.0
        if (moisture_pct - start) * (end - start) <= 0 or (moisture_pct - end) * (start - end) <= 0:
            return None
        rates, share = self._mean_modes(stage)
        pace = stage.diffusivity_m2_per_s * 60 / self.radius_m**2

        def short(minutes: float) -> float:
            return float(end + np.exp(-rates * pace * minutes) @ share - moisture_pct)

        if short(0.0) * short(HORIZON_MIN) > 0:
            return None
        return float(brentq(short, 0.0, HORIZON_MIN, xtol=1e-4))

    def _modes(self, stage: Stage) -> Modes:
        return modes(len(self.profile), rounded_biot(stage.biot))

    def _mean_modes(self, stage: Stage) -> tuple[Floats, Floats]:
        shapes = self._modes(stage)
        weights = shapes.weights(self.profile - stage.equilibrium_pct)
        return shapes.rates, shapes.mean_weights(weights)

    def _fourier(self, stage: Stage, minutes: float) -> float:
        return stage.diffusivity_m2_per_s * 60 * minutes / self.radius_m**2
