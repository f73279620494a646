"""The shop itself: its habits in minutes, and when people are there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Purge:
    """Minutes to purge one material (``source``) out of a head before the next (``target``)."""

    source: str
    target: str
    minutes: int


@dataclass(frozen=True, slots=True)
class Shift:
    """A window ``[start, end)`` with ``hands`` people; overlapping windows add up."""

    start: datetime
    end: datetime
    hands: int


@dataclass(frozen=True, slots=True)
class Site:
    """A shop's fixed figures.

    Parameters
    ----------
    timezone : str
        IANA name; times are shown in it.
    plan_start : datetime
        Minute 0 of the planner; the state that the scenario gives is that of this instant.
    ambient_c : float
        Room temperature, °C.
    dry_storage : bool
        True if spools off the machine rest in dry air and take up no water.
    start_min, unload_min, plate_min, spool_swap_min, nozzle_swap_min, purge_min : int
        Minutes of a person for watching a first layer, taking a part off, changing a plate, a
        spool, a nozzle, and the purge between two materials that ``purges`` does not name.
    dryer_load_min, oven_load_min : int
        Minutes of a person at the beginning of each run.
    freeze_min : int
        Jobs that begin within so many minutes of a new plan stay as they are.
    move_cost_h : float
        Late hours that moving a published job to another printer must save, at the least.
    """

    name: str
    timezone: str
    plan_start: datetime
    ambient_c: float
    dry_storage: bool
    start_min: int
    unload_min: int
    plate_min: int
    spool_swap_min: int
    nozzle_swap_min: int
    purge_min: int
    purges: tuple[Purge, ...]
    dryer_load_min: int
    oven_load_min: int
    freeze_min: int
    move_cost_h: float

    def minute(self, instant: datetime) -> int:
        """Whole minutes from ``plan_start`` to ``instant`` (negative before it)."""
        return (instant - self.plan_start) // MINUTE

    def instant(self, minute: int) -> datetime:
        """The instant ``minute`` minutes after ``plan_start``, with ``plan_start``'s offset."""
        return self.plan_start + timedelta(minutes=minute)
