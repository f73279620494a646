"""Thousands of filaments at once through as many histories, stepped together.

The rings of :mod:`scheduler.physics.moisture.grid`, marched by TR-BDF2 (Bank et al. 1985; stable and
damping at any step, second order in time) in machine code. Steps grow through each stage, because a
change of air is felt most at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduler.physics.moisture.grid import COARSE, grid
from scheduler.physics.nonsense import Nonsense

Floats = NDArray[np.float64]

#: Steps of a stage, each longer than the one before by this factor.
STEPS = 36
GROWTH = 1.2
#: With this share both halves of a TR-BDF2 step have one and the same matrix.
GAMMA = 2 - 2**0.5
HALF = GAMMA / 2
AHEAD = 1 / (GAMMA * (2 - GAMMA))
BACK = (1 - GAMMA) ** 2 * AHEAD


@dataclass(frozen=True, slots=True)
class Histories:
    """Conditions of many filaments, stage by stage; a stage of no length is left out.

    Parameters
    ----------
    radius_m : array of shape (n,)
    start_pct : array of shape (n,) or (n, rings)
        Moisture at the beginning, even or ring by ring, %.
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
    profiles : array of shape (n, rings)
        Moisture of the rings at the very end, %.
    given_off_pct : array of shape (n,)
        Water that passed out through the surface, % of dry mass (negative: taken up), added up from
        the flows and not from the profiles.
    """

    means_pct: Floats
    profiles: Floats
    given_off_pct: Floats


def run(histories: Histories, rings: int = COARSE) -> Outcome:
    """Carry all filaments through their histories."""
    count, stages = histories.minutes.shape
    cut = grid(rings)
    means = np.empty((count, stages))
    profiles = np.empty((count, rings))
    profiles[:] = histories.start_pct if histories.start_pct.ndim == 2 else histories.start_pct[:, None]
    off = np.zeros(count)
    if not means.size:
        return Outcome(means, profiles, off)
    fourier = histories.diffusivity_m2_per_s * 60 * histories.minutes / histories.radius_m[:, None] ** 2
    rim = np.asarray(cut.rim_pass(histories.biot), dtype=float)
    shares = GROWTH ** np.arange(STEPS)
    shares /= shares.sum()
    march = _compiled()
    march(profiles, means, off, fourier, histories.equilibrium_pct, rim, shares, cut.volumes, cut.passes)
    return Outcome(means, profiles, off)


@lru_cache(maxsize=1)
def _compiled() -> Callable[..., None]:
    # The compiler takes a second to load; only batches need it.
    from numba import njit

    compiled: Callable[..., None] = njit(cache=True, error_model="numpy")(_march)
    return compiled


def _march(
    profiles: Any,
    means: Any,
    off: Any,
    fourier: Any,
    air: Any,
    rim: Any,
    shares: Any,
    volumes: Any,
    passes: Any,
) -> None:
    """Plain loops over histories, stages, steps and rings, for the compiler."""
    count, rings = profiles.shape
    last = rings - 1
    factors = np.empty(rings)
    ratios = np.empty(rings)
    inverse = np.empty(rings)
    right = np.empty(rings)
    middle = np.empty(rings)
    for which in range(count):
        now = profiles[which]
        for stage in range(fourier.shape[1]):
            outside = air[which, stage]
            whole = fourier[which, stage]
            for share in shares:
                step = HALF * share * whole
                if step == 0.0:
                    continue
                edge = step * rim[which, stage]
                # The matrix of both halves: volumes + step * passes, factored once.
                pivot = volumes[0] + step * passes[0]
                inverse[0] = 1.0 / pivot
                for ring in range(1, rings):
                    inner = step * passes[ring - 1]
                    factors[ring - 1] = inner
                    ratios[ring - 1] = inner * inverse[ring - 1]
                    outer = edge if ring == last else step * passes[ring]
                    pivot = volumes[ring] + outer + inner * (1.0 - ratios[ring - 1])
                    inverse[ring] = 1.0 / pivot
                # First half: trapezes over the share GAMMA of the step.
                flow = edge * (now[last] - outside)
                into = 0.0
                for ring in range(last):
                    out = factors[ring] * (now[ring + 1] - now[ring])
                    right[ring] = volumes[ring] * now[ring] + out - into
                    into = out
                right[last] = volumes[last] * now[last] - into - flow + edge * outside
                for ring in range(1, rings):
                    right[ring] += ratios[ring - 1] * right[ring - 1]
                middle[last] = right[last] * inverse[last]
                for ring in range(last - 1, -1, -1):
                    middle[ring] = (right[ring] + factors[ring] * middle[ring + 1]) * inverse[ring]
                passed = flow + edge * (middle[last] - outside)
                # Second half: a backward difference over what was and what is half way.
                for ring in range(rings):
                    right[ring] = volumes[ring] * (AHEAD * middle[ring] - BACK * now[ring])
                right[last] += edge * outside
                for ring in range(1, rings):
                    right[ring] += ratios[ring - 1] * right[ring - 1]
                now[last] = right[last] * inverse[last]
                for ring in range(last - 1, -1, -1):
                    now[ring] = (right[ring] + factors[ring] * now[ring + 1]) * inverse[ring]
                off[which] += AHEAD * passed + edge * (now[last] - outside)
            total = 0.0
            for ring in range(rings):
                total += volumes[ring] * now[ring]
            means[which, stage] = total
