"""Heat in plates and parts: how long until the middle is warm, how slowly it must cool.

One-dimensional conduction in a plane sheet with air on both faces (Incropera et al., *Fundamentals of
Heat and Mass Transfer*, ch. 5; the series of :mod:`scheduler.physics.moisture.series`). Under a Biot
number of 0.1 the sheet is one lump. While the skin falls evenly, the middle of a sheet of half-thickness
L stays ``rate L² / (2 a)`` warmer, of a long cylinder half of that, of a ball a third (Carslaw and Jaeger
1959, ch. 3, 7, 9; before the fall has settled, less).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from scheduler.physics.heat import whole_minutes
from scheduler.physics.moisture.series import sheet_left
from scheduler.physics.nonsense import Nonsense, kelvin, positive, within

Shape = Literal["sheet", "rod", "ball"]
#: How much the middle's lag is of ``rate L² / a`` for each shape.
LAG: dict[Shape, float] = {"sheet": 1 / 2, "rod": 1 / 4, "ball": 1 / 6}
#: Under this Biot number a body is one lump.
LUMPED = 0.1
#: Heat transfer to chamber air, W/(m² K): still air and radiation, or with a circulating fan (estimates).
STILL_W, FAN_W = 12.0, 25.0
LONGEST_MIN = 7 * 1440.0


@dataclass(frozen=True, slots=True)
class Substance:
    """Conductivity, W/(m K), density, kg/m³, and heat capacity, J/(kg K), at working heat."""

    name: str
    conductivity: float
    density: float
    capacity: float

    def __post_init__(self) -> None:
        positive(f"{self.name}'s conductivity", self.conductivity, "W/(m K)")
        positive(f"{self.name}'s density", self.density, "kg/m³")
        positive(f"{self.name}'s heat capacity", self.capacity, "J/(kg K)")

    @property
    def diffusivity(self) -> float:
        """Thermal diffusivity, m²/s."""
        return self.conductivity / (self.density * self.capacity)


#: Handbook figures of unfilled polymers (ranges of about a fifth; fibres conduct better, so that these
#: are on the careful side) and of what plates are made of.
SUBSTANCES: dict[str, Substance] = {
    each.name: each
    for each in (
        Substance("PLA", 0.16, 1240, 1800),
        Substance("PETG", 0.20, 1270, 1400),
        Substance("TPU", 0.20, 1120, 1800),
        Substance("ASA", 0.18, 1070, 1600),
        Substance("PC", 0.20, 1200, 1400),
        Substance("PA12", 0.24, 1010, 2000),
        Substance("PA6", 0.25, 1130, 1900),
        Substance("PPS", 0.29, 1350, 1200),
        Substance("PPSU", 0.28, 1290, 1300),
        Substance("PSU", 0.26, 1240, 1300),
        Substance("PEI", 0.22, 1270, 1400),
        Substance("PEKK", 0.25, 1290, 1400),
        Substance("PEEK", 0.27, 1300, 1500),
        Substance("soluble support", 0.20, 1250, 1700),
        Substance("glass", 1.0, 2500, 840),
        Substance("aluminium", 160.0, 2700, 900),
        Substance("steel", 15.0, 7900, 500),
        Substance("laminate", 0.3, 1850, 1100),
    )
}


def substance(name: str) -> Substance:
    """A substance by name; a filled polymer's is its polymer's."""
    base = name.rsplit("-", 1)[0] if name.upper().endswith(("-CF", "-GF", "-MF")) else name
    for known in SUBSTANCES.values():
        if known.name.casefold() == base.casefold():
            return known
    raise Nonsense(f"no heat figures are known for {name!r}; known are {', '.join(SUBSTANCES)}")


@dataclass(frozen=True, slots=True)
class Soak:
    """Minutes until the middle is within the tolerance, and the Biot number that it was worked out with."""

    minutes: int
    biot: float
    lumped: bool


def soak(
    what: Substance,
    thickness_mm: float,
    from_c: float,
    air_c: float,
    within_k: float = 5.0,
    transfer_w: float = STILL_W,
    both_faces: bool = True,
) -> Soak:
    """How long a sheet must lie in air of ``air_c`` until its middle is within ``within_k`` of it.

    Parameters
    ----------
    both_faces : bool
        False for a plate that gets heat on one face only: then all of it is half of a sheet.
    """
    kelvin("the start", from_c)
    kelvin("the air", air_c)
    positive("the thickness", thickness_mm, "mm")
    positive("the tolerance", within_k, "K")
    positive("the heat transfer", transfer_w, "W/(m² K)")
    half_m = thickness_mm / (2e3 if both_faces else 1e3)
    biot = transfer_w * half_m / what.conductivity
    gap = abs(air_c - from_c)
    if gap <= within_k:
        return Soak(0, biot, biot <= LUMPED)
    left = within_k / gap
    if biot <= LUMPED:
        seconds = what.density * what.capacity * half_m / transfer_w * math.log(1 / left)
        return Soak(whole_minutes(seconds / 60), biot, True)
    from scipy.optimize import brentq

    pace = what.diffusivity * 60 / half_m**2

    def over(minutes: float) -> float:
        return float(sheet_left(pace * minutes, 0.0, biot)[0]) - left

    if over(LONGEST_MIN) > 0:
        raise Nonsense(f"{thickness_mm:g} mm of {what.name} takes longer than a week to warm through")
    return Soak(whole_minutes(float(brentq(over, 0.0, LONGEST_MIN, xtol=1e-3))), biot, False)


def slowest_cooling(
    what: Substance,
    thickness_mm: float,
    apart_k: float,
    shape: Shape = "sheet",
    cap_c_per_min: float | None = None,
) -> float:
    """Fastest even fall, °C/min, at which middle and skin stay within ``apart_k`` of one another.

    The material's own cap counts where it is slower.
    """
    positive("the thickness", thickness_mm, "mm")
    within("the difference allowed", apart_k, 0.1, 200, "K")
    half_m = thickness_mm / 2e3
    rate = apart_k * what.diffusivity / (LAG[shape] * half_m**2) * 60
    if cap_c_per_min is None:
        return rate
    return min(rate, positive("the material's own cap", cap_c_per_min, "°C/min"))
