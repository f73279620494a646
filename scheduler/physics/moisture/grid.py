"""A filament's cross-section cut into rings, and what passes between them.

Finite volumes in the radius, in units of the filament's: rings thin at the surface, where a change of
air begins to be felt, and thick at the axis. Water that leaves one ring enters the next, so that mass
is kept whatever the rings' sizes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Rings of a single history.
FINE = 96


@dataclass(frozen=True, slots=True)
class Grid:
    """Rings from the axis to the surface.

    Parameters
    ----------
    volumes : array of shape (rings,)
        Share of the cross-section in each ring; they add up to 1.
    passes : array of shape (rings - 1,)
        What a unit of difference lets pass between neighbours in a unit of Fourier time, in the
        same measure.
    rim : float
        Distance from the outermost ring's middle to the surface, in radii.
    """

    volumes: Floats
    passes: Floats
    rim: float

    def mean(self, profile: Floats) -> float:
        """The mean of a profile over the cross-section."""
        return float(self.volumes @ profile)

    def rim_pass(self, biot: float | Floats) -> float | Floats:
        """What a unit of difference between outermost ring and air lets pass, resistance included."""
        return 2 / (self.rim + 1 / np.asarray(biot, dtype=float))


@lru_cache(maxsize=8)
def grid(rings: int) -> Grid:
    """The grid of so many rings; the outermost is ``1 / rings²`` thick."""
    edges = 1 - (1 - np.linspace(0, 1, rings + 1)) ** 2
    middles = (edges[1:] + edges[:-1]) / 2
    volumes = edges[1:] ** 2 - edges[:-1] ** 2
    passes = 2 * edges[1:-1] / (middles[1:] - middles[:-1])
    return Grid(volumes, passes, float(1 - middles[-1]))


@dataclass(frozen=True, slots=True)
class Modes:
    """How a profile's difference from equilibrium dies away: rates (per Fourier time) and shapes.

    ``shapes`` are the columns of an orthogonal matrix in the measure of ``roots``, the square roots
    of the rings' volumes.
    """

    rates: Floats
    shapes: Floats
    roots: Floats

    def weights(self, difference: Floats) -> Floats:
        """The share of each mode in a difference from equilibrium."""
        return np.asarray(self.shapes.T @ (self.roots * difference), dtype=float)

    def difference(self, weights: Floats, fourier: float) -> Floats:
        """The difference after ``fourier``."""
        left = self.shapes @ (weights * np.exp(-self.rates * fourier)) / self.roots
        return np.asarray(left, dtype=float)

    def mean_weights(self, weights: Floats) -> Floats:
        """The share of each mode in the mean's difference."""
        return np.asarray((self.roots @ self.shapes) * weights, dtype=float)


@lru_cache(maxsize=512)
def modes(rings: int, biot: float) -> Modes:
    """The modes of a grid whose surface resists with ``biot``; exact in time whatever the step."""
    from scipy.linalg import eigh_tridiagonal

    cut = grid(rings)
    roots = np.sqrt(cut.volumes)
    diagonal = np.zeros(rings)
    diagonal[:-1] += cut.passes
    diagonal[1:] += cut.passes
    diagonal[-1] += float(cut.rim_pass(biot))
    rates, shapes = eigh_tridiagonal(diagonal / cut.volumes, -cut.passes / (roots[1:] * roots[:-1]))
    return Modes(np.maximum(rates, 0.0), shapes, roots)


def rounded_biot(biot: float) -> float:
    """A Biot number to four figures, so that stages that hardly differ share their modes."""
    if math.isinf(biot) or biot == 0:
        return biot
    return float(f"{biot:.4g}")
