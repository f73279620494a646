"""How long a spool must stay in a dryer, anchored to the recipes that a shop trusts.

The model alone is worth what its constants are. A shop's recipe is worth more: it works. So the model
is asked how a run at another temperature compares with the recipe's, and the recipe's reserve is kept:

* the **goal** is the limit to print at, or what the recipe itself reaches where the model says that it
  does not reach the limit;
* the **reserve** is the recipe's hours over the hours that the model needs to that goal, at least 1.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.model import DryingRow
from scheduler.physics.moisture.air import STANDARD_PA, Air
from scheduler.physics.moisture.coil import FAN, WOUND, Around, Coil, stage
from scheduler.physics.moisture.polymer import Polymer
from scheduler.physics.moisture.strand import Strand
from scheduler.physics.nonsense import Nonsense, at_least, positive, within

#: The humidity at which recipes and open times of data sheets are understood to hold, %.
REFERENCE_PCT = 50.0
#: Hours are told in steps of so many.
STEP_H = 0.5
#: A run longer than this is no plan, hours.
LONGEST_H = 48.0
#: Absolute pressure that a workshop's vacuum oven holds, Pa (estimate; 1–5 kPa is common).
VACUUM_PA = 2000.0


@dataclass(frozen=True, slots=True)
class DryerAir:
    """What is known of a dryer's air.

    Parameters
    ----------
    dew_point_c : float or None
        That a desiccant keeps, °C; ``None``: it breathes the room's air.
    pressure_pa : float
        Under vacuum, Pa; only for vacuum dryers.
    sherwood : float
        How the air moves around the spool; see :mod:`scheduler.physics.moisture.coil`.
    coil_factor : float
        The shop's own, found from weighings; 1 is the formula.
    """

    dew_point_c: float | None = None
    pressure_pa: float = VACUUM_PA
    sherwood: float = FAN
    coil_factor: float = 1.0

    def __post_init__(self) -> None:
        if self.dew_point_c is not None:
            within("the dryer's dew point", self.dew_point_c, -80, 40, "°C")
        within("the dryer's pressure", self.pressure_pa, 1, STANDARD_PA, "Pa")
        positive("the Sherwood number", self.sherwood)
        at_least("the coil factor", self.coil_factor, 0)

    def around(self, room: Air, temp_c: float, vacuum: bool, coil: Coil = WOUND) -> Around:
        """The air around a spool in it at ``temp_c``."""
        if self.dew_point_c is not None:
            air = Air.of_dew_point(temp_c, min(self.dew_point_c, temp_c))
        else:
            air = room.heated(temp_c)
        if vacuum:
            air = air.evacuated(self.pressure_pa)
        wound = Coil(
            coil.depth_mm,
            coil.void,
            coil.tortuosity,
            coil.factor * self.coil_factor,
            coil.warm_through_min,
        )
        return Around(air, wound, self.sherwood)


@dataclass(frozen=True, slots=True)
class Run:
    """A drying run as the model sees it.

    Parameters
    ----------
    hours : float or None
        Until the goal, warming through included; ``None`` if it is never reached.
    quick_h, slow_h : float or None
        The same with the fastest and slowest diffusivity of the polymer's range.
    rests_pct : float
        Moisture that the dryer's air would keep in the end, %.
    """

    hours: float | None
    quick_h: float | None
    slow_h: float | None
    rests_pct: float


def run_to(polymer: Polymer, spool: Strand, around: Around, goal_pct: float) -> Run:
    """How long a spool takes in constant conditions until its mean is ``goal_pct``."""
    positive("the moisture to reach", goal_pct, "%")
    rest = polymer.isotherm.moisture_pct(around.air.humidity, around.air.temp_c)
    hours, quick, slow = (
        _hours(each, spool, around, goal_pct) for each in (polymer, polymer.faster(), polymer.slower())
    )
    return Run(hours, quick, slow, rest)


def _hours(polymer: Polymer, spool: Strand, around: Around, goal_pct: float) -> float | None:
    mean = spool.mean_pct
    if mean <= goal_pct:
        return 0.0
    conditions = stage(polymer, around, spool.radius_m * 2e3, mean)
    minutes = spool.minutes_until(goal_pct, conditions)
    return None if minutes is None else (minutes + around.coil.warm_through_min) / 60


def end_of_run(polymer: Polymer, spool: Strand, around: Around, hours: float) -> Strand:
    """The spool after ``hours`` in a dryer; it dries from the time it is warm through."""
    at_least("the hours in the dryer", hours, 0, "h")
    conditions = stage(polymer, around, spool.radius_m * 2e3, spool.mean_pct)
    return spool.after(conditions, max(0.0, hours * 60 - around.coil.warm_through_min))


def must_stand(temp_c: float, body_max_c: float | None) -> None:
    """Refuse a run that is hotter than the spool's body stands."""
    if body_max_c is not None and temp_c > body_max_c:
        raise Nonsense(
            f"a run at {temp_c:g} °C is hotter than the spool's body stands, {body_max_c:g} °C;"
            " dry longer and cooler, or respool"
        )


@dataclass(frozen=True, slots=True)
class Anchor:
    """What a shop's recipes say about the model.

    Parameters
    ----------
    goal_pct : float
        Moisture that a run must reach, %.
    reserve : float
        Factor on the model's hours, at least 1.
    row : DryingRow or None
        The recipe that it comes from; ``None`` without one.
    misses : float
        What the recipe leaves over the limit, as a multiple of it; at most 1 where it reaches it.
    """

    goal_pct: float
    reserve: float
    row: DryingRow | None
    misses: float


def anchor(
    polymer: Polymer,
    filament_mm: float,
    rows: Iterable[DryingRow],
    temp_c: float,
    vacuum: bool,
    limit_pct: float,
    dryer: DryerAir,
    room_c: float,
) -> Anchor:
    """Goal and reserve from the recipe that is nearest to a run at ``temp_c``.

    A recipe is taken to dry a spool that lay at :data:`REFERENCE_PCT` relative humidity.
    """
    given = sorted(rows, key=lambda row: (row.vacuum != vacuum, abs(row.temp_c - temp_c)))
    if not given:
        return Anchor(limit_pct, 1.0, None, 0.0)
    row = given[0]
    reference = Air.of_room(room_c, REFERENCE_PCT)
    wet = Strand.even(filament_mm, polymer.isotherm.moisture_pct(reference.humidity, room_c))
    around = dryer.around(reference, row.temp_c, row.vacuum)
    reaches = end_of_run(polymer, wet, around, row.hours).mean_pct
    goal = max(limit_pct, reaches)
    needed = _hours(polymer, wet, around, goal)
    reserve = 1.0 if not needed else max(1.0, row.hours / needed)
    return Anchor(goal, reserve, row, reaches / limit_pct)


def row_hours(hours: float) -> float:
    """Hours rounded up to :data:`STEP_H`."""
    return math.ceil(hours / STEP_H - 1e-6) * STEP_H
