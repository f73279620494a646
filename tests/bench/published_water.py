"""Published figures of water in polymers, as their sources tell them, beside what the model says.

Only what could be read in open text; each entry names what it is and how it was used. A figure that a
constant of the library was set by is no test of it and says so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from scheduler.physics.moisture.air import Air
from scheduler.physics.moisture.coil import BARE, STILL, Around, stage
from scheduler.physics.moisture.polymers import POLYMERS
from scheduler.physics.moisture.series import cylinder_share, sheet_share
from scheduler.physics.moisture.strand import Strand


@dataclass(frozen=True, slots=True)
class Point:
    """One published figure (or a range) and the model's."""

    polymer: str
    what: str
    low: float
    high: float
    model: float
    unit: str
    source: str
    set_by_it: bool = False

    @property
    def off(self) -> float:
        """Deviation of the model from the range's nearer end (0 inside), as a share."""
        if self.low <= self.model <= self.high:
            return 0.0
        near = self.low if self.model < self.low else self.high
        return self.model / near - 1


#: Hours at 125 °C that a maker of polycarbonate sheet asks for before forming, by thickness, mm (open
#: installation manual of a sheet maker, table of pre-drying times).
PC_SHEET_H = {1.0: 1.5, 2.0: 4.0, 3.0: 7.0, 4.0: 12.0, 5.0: 18.0, 6.0: 26.0, 8.0: 45.0}

#: Moisture of crystalline polyester pellets through a hot-air run, minutes and % (a trade journal's
#: chart of December 2014, read in its order of size; the temperature is not in the open text).
PET_PELLETS = (
    (0, 0.1823), (60, 0.04), (120, 0.015), (180, 0.011), (240, 0.0075), (300, 0.0053), (360, 0.0040),
    (420, 0.0035), (480, 0.0021),
)  # fmt: skip


def _immersed(name: str, thickness_mm: float, hours: float) -> float:
    """Uptake of a sheet in water at 23 °C, %."""
    polymer = POLYMERS[name]
    fourier = polymer.motion.m2_per_s(23) * hours * 3600 / (thickness_mm / 2e3) ** 2
    return float(sheet_share(fourier)[0]) * polymer.isotherm.moisture_pct(1.0, 23)


def _pellet(name: str, diameter_mm: float, minutes: float, temp_c: float) -> float:
    """Share of the way that a pellet has gone."""
    fourier = POLYMERS[name].motion.m2_per_s(temp_c) * minutes * 60 / (diameter_mm / 2e3) ** 2
    return float(cylinder_share(fourier)[0])


def _nylon_hours(filament_mm: float, humidity: float, to_pct: float) -> float:
    polymer = POLYMERS["PA6"]
    around = Around(Air.of_room(23, humidity), BARE, STILL)
    strand = Strand.even(filament_mm, 0.3)
    minutes = strand.minutes_until(to_pct, stage(polymer, around, filament_mm, 0.3))
    assert minutes is not None
    return minutes / 60


def points() -> list[Point]:
    """Single figures of seven polymers."""
    pei, pa6, psu = POLYMERS["PEI"], POLYMERS["PA6"], POLYMERS["PSU"]
    pc_pellet = 0.49 * POLYMERS["PC"].saturated.value * _pellet("PC", 2.75, 30, 24)
    return [
        Point("PC", "pellets, 30 min at 49 %, 24 °C", 0.03, 0.03, pc_pellet, "%", "Long and Sokol 1974 (secondary)"),
        Point("PSU", "3.2 mm, 24 h in water", 0.22, 0.30, _immersed("PSU", 3.2, 24), "%", "two open data sheets"),
        Point("PSU", "at 50 %", 0.3, 0.3, psu.isotherm.moisture_pct(0.5, 23), "%", "an open data sheet"),
        Point("PSU", "saturated", 0.8, 0.8, psu.isotherm.moisture_pct(1, 23), "%", "an open data sheet", True),
        Point("PA6", "3.2 mm, 24 h in water", 1.3, 1.7, _immersed("PA6", 3.2, 24), "%", "an open data sheet"),
        Point("PA6", "at 60 %, 23 °C", 3.5, 3.5, pa6.isotherm.moisture_pct(0.6, 23), "%", "a resin maker's page"),
        Point("PA6", "1.75 mm, 0.3 to 0.75 % at 75 %", 2, 8, _nylon_hours(1.75, 75, 0.75), "h", "a dryer maker's tests"),
        Point("PA6", "2.85 mm, 0.3 to 0.75 % at 50 %", 2, 8, _nylon_hours(2.85, 50, 0.75), "h", "a dryer maker's tests"),
        Point("PEI", "diffusivity at 20 °C", 1e-12, 1e-12, pei.motion.m2_per_s(20), "m²/s", "JAPS 77 (2000) 1439", True),
        Point("PEI", "diffusivity at 100 °C", 16e-12, 16e-12, pei.motion.m2_per_s(100), "m²/s", "JAPS 77 (2000) 1439", True),
        Point("PEI", "saturated at 100 °C", 1.5, 1.5, pei.isotherm.moisture_pct(1, 100), "%", "JAPS 77 (2000) 1439"),
        Point("ASA", "3.2 mm, 24 h in water", 0.2, 0.3, _immersed("ASA", 3.2, 24), "%", "an open table", True),
        Point(
            "ASA", "ABS pellets 0.35 %, 45 min at 98 °C", 0.1, 0.1, 0.35 * (1 - _pellet("ASA", 2.5, 45, 98)), "%",
            "an open guide to resin drying",
        ),
        Point("PLA", "diffusivity at 50 °C", 2e-11, 1e-10, POLYMERS["PLA"].motion.m2_per_s(50), "m²/s", "J. Environ. Polym. Degrad. 1997", True),
    ]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Curve:
    """A published curve with one figure fitted, named in ``fitted``."""

    title: str
    fitted: str
    x_unit: str
    y_unit: str
    rows: tuple[tuple[float, float, float], ...]

    @property
    def typical_off(self) -> float:
        """Root mean square of the deviations' logarithms, as a share."""
        logs = [np.log(model / told) for _, told, model in self.rows]
        return float(np.exp(np.sqrt(np.mean(np.square(logs)))) - 1)


def pc_sheet() -> Curve:
    """Drying time against thickness: the model's hours to one residue for all, the residue fitted."""
    pace = POLYMERS["PC"].motion.m2_per_s(125)

    def hours(thickness_mm: float, left: float) -> float:
        # By halving: the share of a sheet rises evenly with time.
        low, high = 0.0, 1000.0
        for _ in range(60):
            middle = (low + high) / 2
            share = float(sheet_share(pace * middle * 3600 / (thickness_mm / 2e3) ** 2)[0])
            low, high = (middle, high) if share < 1 - left else (low, middle)
        return high

    left = _best(
        lambda guess: sum(np.log(hours(t, guess) / h) ** 2 for t, h in PC_SHEET_H.items()), 0.002, 0.3
    )
    rows = tuple((thickness, told, hours(thickness, left)) for thickness, told in PC_SHEET_H.items())
    fitted = f"dry enough is {left:.1%} of the first moisture ({0.2 * left:.4f} % from 0.2 %)"
    return Curve("PC sheet at 125 °C: hours to dry by thickness", fitted, "mm", "h", rows)


def pet_pellets() -> Curve:
    """Moisture of pellets through a run, the temperature fitted through the diffusivity of film."""
    film = POLYMERS["PETG"].motion
    first = PET_PELLETS[0][1]
    rest = 0.002

    def left(minutes: float, temp_c: float) -> float:
        # Kempe's law for film; pellets of 2.5 mm.
        pace = 3.6e-13 / film.at_m2_per_s * film.m2_per_s(temp_c)
        share = float(cylinder_share(pace * minutes * 60 / 1.25e-3**2)[0])
        return rest + (first - rest) * (1 - share)

    temp = _best(
        lambda guess: sum(np.log(left(m, guess) / told) ** 2 for m, told in PET_PELLETS[1:]), 90, 180
    )
    rows = tuple((float(minutes), told, left(minutes, temp)) for minutes, told in PET_PELLETS[1:])
    fitted = f"the temperature: {temp:.0f} °C by the diffusivity of film (moulders dry at 120–170 °C)"
    return Curve("PET pellets: moisture through a run", fitted, "min", "%", rows)


def _best(badness: Callable[[float], float], low: float, high: float) -> float:
    """The least of a function with one valley, by the golden section."""
    share = (5**0.5 - 1) / 2
    for _ in range(60):
        first, second = high - share * (high - low), low + share * (high - low)
        low, high = (low, second) if badness(first) < badness(second) else (first, high)
    return (low + high) / 2
