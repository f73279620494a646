"""What a polymer asks of the machines that dry, print and anneal it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from scheduler.model.common import Span

Filler = Literal["carbon", "glass", "mineral"]


@dataclass(frozen=True, slots=True)
class DryingRow:
    """One recipe that brings a spool under its moisture limit.

    Parameters
    ----------
    temp_c : float
        Setpoint of the dryer, °C; the dryer stands at exactly this.
    hours : float
        Time at the setpoint, hours, warm-up apart.
    vacuum : bool
        True if the recipe needs a vacuum dryer.
    """

    temp_c: float
    hours: float
    vacuum: bool


@dataclass(frozen=True, slots=True)
class Anneal:
    """The oven program of a material's parts: °C and hours."""

    temp_c: float
    hours: float


@dataclass(frozen=True, slots=True)
class Material:
    """A polymer as the shop buys it, with the window in which it prints.

    Parameters
    ----------
    filament_mm : float
        Diameter, mm.
    nozzle_c, bed_c, chamber_c : Span
        Windows of the hot end, the plate and the chamber's air, °C.
    chamber_set_c : float
        Preferred chamber temperature, °C.
    surfaces : tuple of str
        Build surfaces that it sticks to and lets go of; empty: any.
    min_nozzle_mm : float
        Finest nozzle that it passes, mm (fibres clog finer ones).
    drying : tuple of DryingRow
        Recipes, any one of which dries a spool; empty: needs no drying.
    open_time_min : int or None
        Longest exposure to room air between dryer and the end of the print, minutes; ``None``: no limit.
    soak_min : int
        Hold after the chamber and plate are hot, before the first layer, minutes.
    release_c : float
        Chamber temperature at or under which the part may be taken out, °C.
    max_cool_c_per_min : float or None
        Fastest fall of the chamber after the print, °C/min; ``None``: as fast as it falls.
    """

    id: str
    polymer: str
    filled: Filler | None
    filament_mm: float
    nozzle_c: Span
    bed_c: Span
    chamber_c: Span
    chamber_set_c: float
    surfaces: tuple[str, ...]
    abrasive: bool
    corrosive: bool
    needs_extraction: bool
    min_nozzle_mm: float
    drying: tuple[DryingRow, ...]
    open_time_min: int | None
    soak_min: int
    release_c: float
    max_cool_c_per_min: float | None
    anneal: Anneal | None
