"""Published figures of water in polymers, as their sources tell them, beside what the model says.

Only what could be read in open text; each entry names what it is and how it was used. A figure that a
constant of the library was set by is no test of it and says so. Curves are in ``published_curves``.
"""

from __future__ import annotations

from dataclasses import dataclass

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
    """Single figures of eight polymers."""
    pei, pa6, psu = POLYMERS["PEI"], POLYMERS["PA6"], POLYMERS["PSU"]
    pc_pellet = 0.49 * POLYMERS["PC"].saturated.value * _pellet("PC", 2.75, 30, 24)
    return [
        Point("PC", "pellets, 30 min at 49 %, 24 °C", 0.03, 0.03, pc_pellet, "%", "Long and Sokol 1974 (secondary)"),
        Point("PC", "diffusivity at 100 °C", 8.7e-11, 8.7e-11, POLYMERS["PC"].motion.m2_per_s(100), "m²/s", "Water sorption and hydrolytic stability of polycarbonates (abstract)"),
        Point("PC", "at 100 %, 100 °C", 0.5945, 0.5945, POLYMERS["PC"].isotherm.moisture_pct(1.0, 100), "%", "the same abstract"),
        Point("TPU", "printed, diffusivity in saline", 1.06e-12, 3.40e-12, POLYMERS["TPU"].motion.m2_per_s(23), "m²/s", "preprints.org 202604.1293 (abstract; not reviewed)"),
        Point("TPU", "printed, most taken up in 96 h", 1.18, 1.80, POLYMERS["TPU"].isotherm.moisture_pct(1.0, 23), "%", "the same abstract"),
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
