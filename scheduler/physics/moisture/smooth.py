"""A filament's cross-section as one polynomial, for batches.

Galerkin's method with Legendre polynomials in the square of the radius (Canuto et al., *Spectral
Methods*, 2006, ch. 2 and 8): in that variable the cross-section is an interval of even weight, the
axis needs no condition, and a couple of dozen places do what hundreds of rings would. The polynomial is
held by its values at Gauss's places, whose weights are shares of the cross-section, so that the mean of
the places is the mean of the whole.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Places of a batch: 1e-4 of a full change is kept from a Fourier number of 1e-6 on.
PLACES = 32


@dataclass(frozen=True, slots=True)
class Section:
    """A cross-section, its places and how it behaves with a surface that lets nothing pass.

    Parameters
    ----------
    radii : array of shape (places,)
        From the axis outwards, in radii of the filament.
    volumes : array of shape (places,)
        Share of the cross-section that each place stands for; they add up to 1.
    rates : array of shape (places,)
        How fast the modes of a tight surface die away in a unit of Fourier time; the first, which is
        the mean, never.
    rims : array of shape (places,)
        What the modes are at the surface.
    into, back : arrays of shape (places, places)
        From values at the places to shares of the modes, and back.
    """

    radii: Floats
    volumes: Floats
    rates: Floats
    rims: Floats
    into: Floats
    back: Floats


@lru_cache(maxsize=4)
def section(places: int = PLACES) -> Section:
    """The cross-section held at so many places."""
    legendre = np.polynomial.legendre
    nodes, weights = legendre.leggauss(places)
    squares, volumes = (nodes + 1) / 2, weights / 2
    # Legendre's polynomials, each with a mean square of 1 over the cross-section, and their slopes.
    lengths = np.sqrt(2 * np.arange(places) + 1)
    values = legendre.legvander(nodes, places - 1) * lengths
    slopes = np.zeros((places, places))
    for order in range(1, places):
        slopes[:, order] = legendre.legval(nodes, legendre.legder(np.eye(places)[order] * lengths[order])) * 2
    # The mean constant is a mode of its own; the others are looked for without it.
    stiffness = (slopes.T @ ((4 * squares * volumes)[:, None] * slopes))[1:, 1:]
    rates, shapes = np.linalg.eigh((stiffness + stiffness.T) / 2)
    turned = np.eye(places)
    turned[1:, 1:] = shapes
    back = values @ turned
    return Section(
        radii=np.sqrt(squares),
        volumes=volumes,
        rates=np.concatenate(([0.0], rates)),
        rims=lengths @ turned,
        into=back.T * volumes,
        back=back,
    )
