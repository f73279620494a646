"""Printers, their heads and the nozzles that lie ready for each head."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.model.common import Downtime


@dataclass(frozen=True, slots=True)
class Nozzle:
    """A nozzle of one head: bore in mm, what its metal withstands, hottest use in °C."""

    id: str
    size_mm: float
    hardened: bool
    corrosion_proof: bool
    max_c: float


@dataclass(frozen=True, slots=True)
class Mounted:
    """What was last on a head at ``plan_start``; each part may be unknown (``None``)."""

    spool: str | None
    material: str | None
    nozzle: str | None


@dataclass(frozen=True, slots=True)
class Head:
    """An extruder of a printer.

    Parameters
    ----------
    max_c : float
        Hottest safe hot end, °C.
    dry_feed : bool
        True if the spool stands in dry air while mounted, so that it takes up no water.
    """

    id: str
    max_c: float
    filament_mm: float
    dry_feed: bool
    mounted: Mounted
    nozzles: tuple[Nozzle, ...]


@dataclass(frozen=True, slots=True)
class Printer:
    """A material-extrusion machine.

    Parameters
    ----------
    chamber_max_c : float or None
        Hottest chamber setpoint, °C; ``None``: no heated chamber.
    chamber_reach_c : float or None
        Temperature that the chamber would approach at full power, °C; above ``chamber_max_c``.
    heat_tau_min, cool_tau_min : float
        Time constants of the chamber's heating and cooling, minutes.
    bed_heat_min, bed_cool_min : int
        Minutes to heat the plate, and least minutes until it can be touched again.
    volume_mm : tuple of float
        x, y, z of the build envelope, mm.
    unattended : bool
        True if it may heat and print with nobody in the shop.
    speed_factor : float
        Print minutes here per print minute stated by a job.
    chamber_now_c : float
        Chamber temperature at ``plan_start``, °C.
    free_at : datetime
        Nothing new starts here before.
    heads : tuple of Head
        One or two.
    """

    id: str
    bed_max_c: float
    chamber_max_c: float | None
    chamber_reach_c: float | None
    heat_tau_min: float
    cool_tau_min: float
    bed_heat_min: int
    bed_cool_min: int
    volume_mm: tuple[float, float, float]
    surfaces: tuple[str, ...]
    extraction: bool
    unattended: bool
    speed_factor: float
    qualified: tuple[str, ...]
    chamber_now_c: float
    free_at: datetime
    downtime: tuple[Downtime, ...]
    heads: tuple[Head, ...]
