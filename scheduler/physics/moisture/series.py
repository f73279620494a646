"""Exact solutions for constant conditions, as shares of the way to equilibrium.

Crank, *The Mathematics of Diffusion* (2nd ed. 1975): long cylinder eq. 5.23 (surface at equilibrium)
and 5.48 (resistance at the surface), plane sheet eq. 4.18 and 4.53. Time enters as the Fourier number
``D t / R²`` (``D t / L²`` for a sheet of half-thickness L), the resistance as the Biot number
``k R / D``. The same equations hold for heat, with the thermal diffusivity.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduler.physics.nonsense import at_least

Floats = NDArray[np.float64]

#: Terms of each sum, and the Fourier number under which the short-time form takes over.
TERMS = 300
SHORT = 1e-4


def _scipy_special() -> Any:
    # Loaded here because it takes a while and most commands never come this way.
    from scipy import special

    return special


@lru_cache(maxsize=256)
def cylinder_roots(biot: float) -> Floats:
    """The first roots of ``b J1(b) = biot J0(b)``; those of ``J0`` where ``biot`` is infinite."""
    special = _scipy_special()
    ends = np.asarray(special.jn_zeros(0, TERMS), dtype=float)
    if math.isinf(biot):
        return ends
    low = np.concatenate(([0.0], np.asarray(special.jn_zeros(1, TERMS - 1), dtype=float)))
    high = ends.copy()
    # Bisection: between a zero of J1 and the next of J0 the difference changes its sign just once.
    for _ in range(80):
        middle = (low + high) / 2
        value = middle * special.j1(middle) - biot * special.j0(middle)
        rising = np.sign(special.j0(middle)) * value < 0
        low, high = np.where(rising, middle, low), np.where(rising, high, middle)
    return np.asarray((low + high) / 2, dtype=float)


@lru_cache(maxsize=256)
def sheet_roots(biot: float) -> Floats:
    """The first roots of ``b tan(b) = biot``; odd multiples of π/2 where ``biot`` is infinite."""
    number = np.arange(TERMS)
    high = np.asarray((number + 0.5) * math.pi, dtype=float)
    if math.isinf(biot):
        return high
    low = number * math.pi
    for _ in range(80):
        middle = (low + high) / 2
        rising = middle * np.sin(middle) * (-1.0) ** number < biot * np.cos(middle) * (-1.0) ** number
        low, high = np.where(rising, middle, low), np.where(rising, high, middle)
    return np.asarray((low + high) / 2, dtype=float)


def cylinder_share(fourier: float | Floats, biot: float = math.inf) -> Floats:
    """Share of the final change that the mean of a long cylinder has made after ``fourier``.

    Parameters
    ----------
    fourier : float or array
        ``D t / R²``, not negative.
    biot : float
        ``k R / D``; infinite where the surface is in equilibrium at once.
    """
    numbers = _fouriers(fourier)
    roots = cylinder_roots(biot)
    resisted = 1.0 if math.isinf(biot) else biot**2 / (roots**2 + biot**2)
    weights = 4 / roots**2 * resisted
    share = 1 - np.exp(-np.outer(numbers, roots**2)) @ weights
    if math.isinf(biot):
        short = numbers < SHORT
        early = numbers[short]
        root = np.sqrt(early / math.pi)
        share[short] = 4 * root - early - early * root / 3
    return np.asarray(np.clip(share, 0, 1), dtype=float)


def sheet_share(fourier: float | Floats, biot: float = math.inf) -> Floats:
    """Share of the final change that the mean of a plane sheet has made after ``fourier``."""
    numbers = _fouriers(fourier)
    roots = sheet_roots(biot)
    resisted = 1.0 if math.isinf(biot) else biot**2 / (roots**2 + biot**2 + biot)
    weights = 2 / roots**2 * resisted
    share = 1 - np.exp(-np.outer(numbers, roots**2)) @ weights
    if math.isinf(biot):
        short = numbers < SHORT
        share[short] = 2 * np.sqrt(numbers[short] / math.pi)
    return np.asarray(np.clip(share, 0, 1), dtype=float)


def sheet_left(fourier: float | Floats, place: float, biot: float = math.inf) -> Floats:
    """Share of the first difference that is left at ``place`` (0 the middle, 1 the surface) of a sheet."""
    numbers = _fouriers(fourier)
    roots = sheet_roots(biot)
    factors = 4 * np.sin(roots) / (2 * roots + np.sin(2 * roots)) * np.cos(roots * place)
    return np.asarray(np.exp(-np.outer(numbers, roots**2)) @ factors, dtype=float)


def lumped_share(fourier: float | Floats, biot: float) -> Floats:
    """The limit of small Biot numbers for a cylinder: one exponential, ``1 - exp(-2 Bi Fo)``."""
    return np.asarray(1 - np.exp(-2 * biot * _fouriers(fourier)), dtype=float)


def half_space_share(fourier: float | Floats) -> Floats:
    """The limit of short times for a cylinder: a half-space, ``4 sqrt(Fo / π)``."""
    return np.asarray(4 * np.sqrt(_fouriers(fourier) / math.pi), dtype=float)


def _fouriers(fourier: float | Floats) -> Floats:
    numbers = np.atleast_1d(np.asarray(fourier, dtype=float))
    at_least("the Fourier number", float(numbers.min(initial=0.0)), 0)
    return numbers
