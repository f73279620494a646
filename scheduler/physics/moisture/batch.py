"""Thousands of filaments at once through as many histories, exact in time.

The cross-section of :mod:`scheduler.physics.moisture.smooth`. A surface that lets water pass changes the
modes of a tight one by a matrix of rank one, so that the modes of any Biot number follow from one
equation in one unknown (Golub, SIAM Review 15 (1973) 318; solved as Bunch, Nielsen and Sorensen, Numer.
Math. 31 (1978) 31): a few hundred divisions a stage, whatever its length.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduler.physics.moisture.smooth import section
from scheduler.physics.nonsense import Nonsense

Floats = NDArray[np.float64]

#: Steps towards a rate, at the most; three to six are usual.
TRIES = 60
#: A step that changes a rate by less than this share is the last: each squares what was missing.
CLOSE = 1e-12


@dataclass(frozen=True, slots=True)
class Histories:
    """Conditions of many filaments, stage by stage; a stage of no length is left out.

    Parameters
    ----------
    radius_m : array of shape (n,)
    start_pct : array of shape (n,) or (n, places)
        Moisture at the beginning, even or at the places of the section, %.
    diffusivity_m2_per_s, equilibrium_pct, biot, minutes : arrays of shape (n, stages)
    """

    radius_m: Floats
    start_pct: Floats
    diffusivity_m2_per_s: Floats
    equilibrium_pct: Floats
    biot: Floats
    minutes: Floats

    def __post_init__(self) -> None:
        shape = self.minutes.shape
        for name in ("diffusivity_m2_per_s", "equilibrium_pct", "biot", "minutes"):
            values = getattr(self, name)
            if values.ndim != 2 or values.shape != shape:
                raise Nonsense(f"{name} has the shape {values.shape}, not {shape}")
            if not np.isfinite(values).all() and name != "biot":
                raise Nonsense(f"{name} holds a figure that is no number")
        if self.radius_m.shape != shape[:1] or self.start_pct.shape[:1] != shape[:1]:
            raise Nonsense(f"{shape[0]} histories need as many radii and beginnings")
        if not (self.radius_m > 0).all() or not (self.diffusivity_m2_per_s > 0).all():
            raise Nonsense("a radius or a diffusivity is not above 0")
        if not (self.biot > 0).all() or (self.minutes < 0).any() or (self.equilibrium_pct < 0).any():
            raise Nonsense("a Biot number, a time or a moisture is negative")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of the filaments.

    Parameters
    ----------
    means_pct : array of shape (n, stages)
        Mean moisture at the end of each stage, %.
    profiles : array of shape (n, places)
        Moisture at the places of the section at the very end, %.
    given_off_pct : array of shape (n,)
        Water that passed out through the surface, % of dry mass (negative: taken up), added up from
        the flows and not from the means.
    """

    means_pct: Floats
    profiles: Floats
    given_off_pct: Floats


def run(histories: Histories) -> Outcome:
    """Carry all filaments through their histories."""
    count, stages = histories.minutes.shape
    cut = section()
    means = np.empty((count, stages))
    starts = np.empty((count, len(cut.volumes)))
    starts[:] = histories.start_pct if histories.start_pct.ndim == 2 else histories.start_pct[:, None]
    off = np.zeros(count)
    if not means.size:
        return Outcome(means, starts, off)
    shares = starts @ cut.into.T
    fourier = histories.diffusivity_m2_per_s * 60 * histories.minutes / histories.radius_m[:, None] ** 2
    # Twice the Biot number is what the whole surface lets pass; a free one is told by its inverse, 0.
    tight = 1 / (2 * histories.biot)
    _compiled()(shares, means, off, fourier, histories.equilibrium_pct, tight, cut.rates, cut.rims)
    return Outcome(means, shares @ cut.back.T, off)


@lru_cache(maxsize=1)
def _compiled() -> Callable[..., None]:
    # The compiler takes a second to load; only batches need it.
    from numba import njit

    compiled: Callable[..., None] = njit(cache=True, error_model="numpy", fastmath={"reassoc", "nsz"})(_march)
    return compiled


def _march(
    shares: Any, means: Any, off: Any, fourier: Any, air: Any, tight: Any, rates: Any, rims: Any
) -> None:
    """Plain loops over histories, stages and modes, for the compiler."""
    count, modes = shares.shape
    squares = rims * rims
    whole = squares.sum()
    gaps = np.empty(modes)
    mode = np.empty(modes)
    left = np.empty(modes)
    for which in range(count):
        now = shares[which]
        for stage in range(fourier.shape[1]):
            if fourier[which, stage] == 0.0:
                means[which, stage] = now[0]
                continue
            resists = tight[which, stage]
            now[0] -= air[which, stage]
            for i in range(modes):
                left[i] = 0.0
            passed = 0.0
            for j in range(modes):
                for i in range(modes):
                    gaps[i] = rates[i] - rates[j]
                if j == modes - 1 and resists == 0.0:
                    # A free surface takes the last mode at once: all that the surface holds.
                    weight = 0.0
                    for i in range(modes):
                        weight += rims[i] * now[i]
                    passed += weight * rims[0] / whole
                    continue
                # The rate lies between a tight one and the next: by so much above the first.
                low, gap = 0.0, whole / resists if j == modes - 1 else gaps[j + 1]
                high = gap
                above = gap / 2
                for _ in range(TRIES):
                    inner, inner_slope, outer, outer_slope = 0.0, 0.0, 0.0, 0.0
                    for i in range(j + 1):
                        inverse = 1.0 / (gaps[i] - above)
                        part = squares[i] * inverse
                        inner += part
                        inner_slope += part * inverse
                    for i in range(j + 1, modes):
                        inverse = 1.0 / (gaps[i] - above)
                        part = squares[i] * inverse
                        outer += part
                        outer_slope += part * inverse
                    if resists + inner + outer > 0.0:
                        high = above
                    else:
                        low = above
                    # Each sum as a constant and its nearest pole, met in value and slope.
                    near = inner_slope * above * above
                    level = resists + inner + near / above
                    if j == modes - 1:
                        better = near / level
                    else:
                        far = outer_slope * (gap - above) ** 2
                        level += outer - far / (gap - above)
                        half = level * gap + near + far
                        root = max(half * half - 4.0 * level * near * gap, 0.0) ** 0.5
                        better = (
                            2.0 * near * gap / (half + root) if half > 0.0 else (half - root) / (2.0 * level)
                        )
                    if not low < better < high:
                        better = (low + high) / 2
                    moved = abs(better - above)
                    above = better
                    if moved <= CLOSE * above:
                        break
                length, weight = 0.0, 0.0
                for i in range(modes):
                    mode[i] = rims[i] / (gaps[i] - above)
                    length += mode[i] * mode[i]
                    weight += mode[i] * now[i]
                weight /= length
                rate = rates[j] + above
                kept = np.exp(-rate * fourier[which, stage])
                # At the surface such a mode is minus what resists, so that this has passed out.
                passed -= weight * rims[0] * (1.0 - kept) / rate
                for i in range(modes):
                    left[i] += mode[i] * weight * kept
            for i in range(modes):
                now[i] = left[i]
            now[0] += air[which, stage]
            off[which] += passed
            means[which, stage] = now[0]
