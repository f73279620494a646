"""How a wound spool and the air around it slow down what a bare strand would do.

Water that leaves a strand inside a coil must still pass the gaps between the windings and the still air
around the spool. Both are put in series, per area of filament surface::

    1/g = (filament area / coil area) * (depth / (3 D_gaps) + 1 / h),   h = Sh D_air / size
    D_gaps = D_air * void / tortuosity

``depth / 3`` is the mean way of a layer that loses vapour evenly on one side (the linear driving force
of Glueckauf 1955). In the units of the filament's moisture the conductance is ``k = g * (vapour density
for moisture)``; it enters the diffusion in the strand as the Biot number ``k R / D``. A **coil factor**
multiplies the resistance: 1 is this formula, 0 a bare strand, and a shop's weighings find its own.

The figures are estimates: round filament wound in neat layers leaves 21 % void, wild winding up to 35 %;
a kilogram on a common spool lies 35–55 mm deep. In a vacuum vapour moves faster through the gaps in
proportion to the pressure that is gone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scheduler.physics.moisture.air import Air, diffusivity_m2_per_s, saturation_pa, vapour_kg_per_m3
from scheduler.physics.moisture.polymer import Polymer
from scheduler.physics.moisture.strand import Stage
from scheduler.physics.nonsense import at_least, positive, within

#: Sherwood numbers of a spool of 0.1 m: still air by natural convection, a fan's draught (both E).
STILL, FAN = 10.0, 60.0
_SIZE_M = 0.1


@dataclass(frozen=True, slots=True)
class Coil:
    """A spool's winding.

    Parameters
    ----------
    depth_mm : float
        From the outermost winding to the hub, mm; 0 for a bare strand.
    void : float
        Share of air between the windings.
    tortuosity : float
        How much longer the way through the gaps is than straight, squared.
    factor : float
        Multiplies the whole resistance; found by weighings.
    warm_through_min : int
        Minutes until the inside of the coil is as warm as the oven, added to every run.
    """

    depth_mm: float = 45.0
    void: float = 0.25
    tortuosity: float = 1.5
    factor: float = 1.0
    warm_through_min: int = 45

    def __post_init__(self) -> None:
        within("the winding's depth", self.depth_mm, 0, 300, "mm")
        within("the share of air in the winding", self.void, 0.05, 0.95)
        within("the winding's tortuosity", self.tortuosity, 1, 10)
        at_least("the coil factor", self.factor, 0)
        at_least("the time to warm through", self.warm_through_min, 0, "min")


#: A kilogram on a common spool, and filament that lies open strand by strand.
WOUND = Coil()
BARE = Coil(depth_mm=0.0, factor=0.0, warm_through_min=0)


@dataclass(frozen=True, slots=True)
class Around:
    """What is around the filament: its air, how it moves, and the coil that it lies in."""

    air: Air
    coil: Coil = WOUND
    sherwood: float = STILL

    def __post_init__(self) -> None:
        positive("the Sherwood number", self.sherwood)


def _vapour_for_moisture(polymer: Polymer, air: Air, from_pct: float) -> float:
    """Difference of vapour density for one of moisture, kg/m³ of air for kg/m³ of polymer.

    The secant of the isotherm between the spool's moisture and the air's; Henry's law makes it one figure.
    """
    isotherm = polymer.isotherm
    rest_pct = isotherm.moisture_pct(air.humidity, air.temp_c)
    inside, outside = isotherm.humidity(from_pct, air.temp_c), air.humidity
    if abs(from_pct - rest_pct) < 1e-3 * isotherm.saturated_at_pct(air.temp_c):
        nudge = 1e-2
        inside = min(1.0, outside + nudge)
        outside = inside - nudge
        from_pct = isotherm.moisture_pct(inside, air.temp_c)
        rest_pct = isotherm.moisture_pct(outside, air.temp_c)
    vapour = vapour_kg_per_m3(saturation_pa(air.temp_c) * (inside - outside), air.temp_c)
    return vapour / (polymer.density_kg_per_m3 * (from_pct - rest_pct) / 100)


def conductance_m_per_s(polymer: Polymer, around: Around, filament_mm: float, from_pct: float) -> float:
    """Conductance from the strand's surface to the air, m/s of moisture; infinite for a bare strand."""
    coil = around.coil
    if coil.factor == 0:
        return math.inf
    radius_m = positive("the filament's diameter", filament_mm, "mm") / 2e3
    in_air = diffusivity_m2_per_s(around.air.temp_c, around.air.pressure_pa)
    depth_m = max(coil.depth_mm / 1e3, 2 * radius_m)
    crowding = depth_m * (1 - coil.void) * 2 / radius_m
    gaps = depth_m / (3 * in_air * coil.void / coil.tortuosity)
    outside = _SIZE_M / (around.sherwood * in_air)
    resistance = coil.factor * crowding * (gaps + outside)
    return _vapour_for_moisture(polymer, around.air, from_pct) / resistance


def stage(polymer: Polymer, around: Around, filament_mm: float, from_pct: float) -> Stage:
    """The conditions of a filament of ``filament_mm`` that enters them at ``from_pct`` moisture."""
    air = around.air
    diffusivity = polymer.motion.m2_per_s(air.temp_c)
    radius_m = filament_mm / 2e3
    biot = conductance_m_per_s(polymer, around, filament_mm, from_pct) * radius_m / diffusivity
    return Stage(diffusivity, polymer.isotherm.moisture_pct(air.humidity, air.temp_c), biot)
