"""What the floor keeps of a job, a printer, a spool and a run: one frozen value each, and its plain form.

A thing is touched by events alone (:mod:`scheduler.floor.apply`); each touch makes its version one larger.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any, Literal

from scheduler.model import FeedChoice

JobState = Literal[
    "waiting",
    "held",
    "taken",
    "heating",
    "printing",
    "cooling",
    "off",
    "baking",
    "to inspect",
    "rework",
    "passed",
    "scrapped",
    "failed",
]
#: States in which a job stands on a machine.
ON_MACHINE: tuple[JobState, ...] = ("taken", "heating", "printing", "cooling")
#: States in which a job's plate is printed and something is still to be done with it.
OFF_MACHINE: tuple[JobState, ...] = ("off", "baking", "to inspect", "rework")
#: States in which nothing more happens to a job.
ENDED: tuple[JobState, ...] = ("passed", "scrapped", "failed")


@dataclass(frozen=True, slots=True)
class Lengths:
    """Forecast lengths of a job's six printer steps where it stands, minutes."""

    changeover_min: int
    preheat_min: int
    start_min: int
    print_min: int
    cooldown_min: int
    unload_min: int


@dataclass(frozen=True, slots=True)
class FloorJob:
    """A job as the floor knows it.

    Parameters
    ----------
    feeds : tuple of FeedChoice
        Head, nozzle and spool of each feed, from the pull on.
    mounted : tuple of bool
        Which feeds' spools are on their heads.
    chamber_c : float
        Setpoint of the chamber for it, °C.
    pulled_at, heated_at, started_at, ended_at, unloaded_at, baked_at, closed_at : datetime or None
        When it was pulled, the chamber was switched on, the first layer began, the print ended,
        the part was off the machine, out of the oven, and judged or given up.
    good, scrapped : int
        Parts by the inspection (or saved from a failure).
    assumed : bool
        True if what is told of it was taken from the plan, not reported by a person.
    overrides : tuple of str
        What somebody with the right to it let pass, in words.
    """

    id: str
    version: int = 0
    state: JobState = "waiting"
    printer: str | None = None
    holder: str | None = None
    feeds: tuple[FeedChoice, ...] = ()
    mounted: tuple[bool, ...] = ()
    chamber_c: float = 0.0
    lengths: Lengths | None = None
    pulled_at: datetime | None = None
    heated_at: datetime | None = None
    started_at: datetime | None = None
    ended_at: datetime | None = None
    unloaded_at: datetime | None = None
    oven_run: str | None = None
    baked_at: datetime | None = None
    closed_at: datetime | None = None
    good: int = 0
    scrapped: int = 0
    cause: str = ""
    replaced_by: str | None = None
    assumed: bool = False
    overrides: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OnHead:
    """What was last on a head."""

    head: str
    spool: str | None
    material: str | None
    nozzle: str | None


@dataclass(frozen=True, slots=True)
class FloorPrinter:
    """A machine as the floor knows it.

    Parameters
    ----------
    job : str or None
        The job that has it, from the pull until the part (or what is left of it) is off.
    to_clear : bool
        True after a failure, until somebody has cleared the plate.
    down_reason : str or None
        Why it is out of use; ``None`` if it is not.
    down_until : datetime or None
        When it is expected back.
    chamber_c, chamber_at : float, datetime or None
        Chamber temperature at an instant after which it only falls, °C.
    """

    id: str
    version: int = 0
    job: str | None = None
    to_clear: bool = False
    clear_from: datetime | None = None
    down_reason: str | None = None
    down_since: datetime | None = None
    down_until: datetime | None = None
    chamber_c: float = 0.0
    chamber_at: datetime | None = None
    heads: tuple[OnHead, ...] = ()


@dataclass(frozen=True, slots=True)
class FloorSpool:
    """A spool as the floor knows it.

    Parameters
    ----------
    place : str
        ``"store"``, ``"dryer"`` or ``"printer"``.
    place_id : str or None
        Which dryer or printer.
    state : str
        ``"good"``, ``"quarantined"`` or ``"empty"``.
    exposed_min : int
        Exposure to room air, minutes, counted up to ``counted_at``.
    dryer_run : str or None
        The run that dried it last.
    last_printer : str or None
        Where it was mounted last, while it still counts as the one last on that head.
    """

    id: str
    version: int = 0
    place: str = "store"
    place_id: str | None = None
    state: str = "good"
    grams: float = 0.0
    dried: bool = False
    exposed_min: int = 0
    counted_at: datetime | None = None
    dried_at: datetime | None = None
    dryer_run: str | None = None
    last_printer: str | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class FloorRun:
    """A run of a dryer (its members are spools) or of an oven (jobs).

    Parameters
    ----------
    due_at : datetime
        When every member has had its time.
    ended_at : datetime or None
        When it was emptied; ``None`` while it runs.
    whole : bool
        True if it was not emptied before ``due_at``.
    """

    id: str
    version: int = 0
    machine: str = ""
    temp_c: float = 0.0
    members: tuple[str, ...] = ()
    started_at: datetime | None = None
    due_at: datetime | None = None
    ended_at: datetime | None = None
    whole: bool = False
    assumed: bool = False


Thing = FloorJob | FloorPrinter | FloorSpool | FloorRun
Kind = Literal["job", "printer", "spool", "dryer run", "oven run"]
CLASSES: dict[Kind, type[Thing]] = {
    "job": FloorJob,
    "printer": FloorPrinter,
    "spool": FloorSpool,
    "dryer run": FloorRun,
    "oven run": FloorRun,
}
_PARTS: dict[str, type[Any]] = {"feeds": FeedChoice, "heads": OnHead}


def to_data(thing: Any) -> dict[str, Any]:
    """A thing in the plain form that JSON carries; instants as text."""
    return {field.name: _plain(getattr(thing, field.name)) for field in fields(thing)}


def from_data(kind: Kind, data: dict[str, Any]) -> Thing:
    """The thing that :func:`to_data` gave this form."""
    return CLASSES[kind](**{name: _rich(name, value) for name, value in data.items()})


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if isinstance(value, FeedChoice | OnHead | Lengths):
        return to_data(value)
    return value


def _rich(name: str, value: Any) -> Any:
    if value is None:
        return None
    if name.endswith("_at") or name in ("down_since", "down_until", "clear_from"):
        return datetime.fromisoformat(value)
    if name in _PARTS:
        return tuple(_PARTS[name](**part) for part in value)
    if name == "lengths":
        return Lengths(**value)
    return tuple(value) if isinstance(value, list) else value
