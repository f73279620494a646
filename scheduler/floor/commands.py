"""What people ask of the floor. A command is a wish; it becomes a fact when nothing speaks against it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.floor.things import Kind
from scheduler.model import FeedChoice


@dataclass(frozen=True, slots=True)
class Asked:
    """Who asks, when, and what they saw.

    Parameters
    ----------
    key : str
        Made by the device, one for each touch: sent twice, it counts once.
    override : str
        Why rules that object shall be let pass; empty: they shall not.
    may_override : bool
        Whether the person has the right to it.
    seen : tuple of (str, str, int)
        Kind, id and version of things as the person's page showed them; a newer version refuses.
    """

    key: str
    who: str
    at: datetime
    override: str = ""
    may_override: bool = False
    seen: tuple[tuple[Kind, str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Pull:
    """Take a job to a machine; without feeds, with those of the published plan or the nearest that fit."""

    job: str
    printer: str
    feeds: tuple[FeedChoice, ...] = ()


@dataclass(frozen=True, slots=True)
class LetGo:
    """Give a pulled job back before anything of it was mounted."""

    job: str


@dataclass(frozen=True, slots=True)
class MountSpool:
    """Put a spool on the head of a feed (from 0); the spool by its id or its short code."""

    job: str
    feed: int
    spool: str


@dataclass(frozen=True, slots=True)
class ChamberOn:
    """Changeover done, plate and chamber are heating."""

    job: str


@dataclass(frozen=True, slots=True)
class FirstLayer:
    """The print was started and the first layer is being watched."""

    job: str


@dataclass(frozen=True, slots=True)
class PrintEnded:
    """The print has ended, now or at an earlier instant."""

    job: str
    ended_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class TakeOff:
    """The part is off the plate and the machine is free."""

    job: str


@dataclass(frozen=True, slots=True)
class Fail:
    """A job can't be brought to its end.

    Parameters
    ----------
    cause : str
        In words; see :data:`CAUSES` for the usual ones.
    good : int
        Parts of the plate that can still be delivered.
    again : bool
        Whether the missing parts are to be printed again.
    """

    job: str
    cause: str
    good: int = 0
    again: bool = True


@dataclass(frozen=True, slots=True)
class ClearPlate:
    """What a failed print left on a machine is off; the machine is free."""

    printer: str


@dataclass(frozen=True, slots=True)
class LoadDryer:
    """Put spools (by id or short code) in a dryer at a setpoint, °C."""

    dryer: str
    temp_c: float
    spools: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EmptyDryer:
    """Take the spools of a run out."""

    run: str


@dataclass(frozen=True, slots=True)
class LoadOven:
    """Put the parts of jobs in an oven; its program is their material's."""

    oven: str
    jobs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EmptyOven:
    """Take the parts of a run out."""

    run: str


@dataclass(frozen=True, slots=True)
class Inspect:
    """Judge a job's parts: ``"pass"``, ``"scrap"`` or ``"rework"``."""

    job: str
    result: str
    good: int = 0
    note: str = ""
    again: bool = True


@dataclass(frozen=True, slots=True)
class Hold:
    """Keep a waiting job from being planned and pulled."""

    job: str
    why: str


@dataclass(frozen=True, slots=True)
class Release:
    """Let a held job be planned and pulled again."""

    job: str


@dataclass(frozen=True, slots=True)
class MachineDown:
    """A printer is out of use until, as far as one knows, an instant."""

    printer: str
    why: str
    until: datetime


@dataclass(frozen=True, slots=True)
class MachineUp:
    """A printer can be used again."""

    printer: str


@dataclass(frozen=True, slots=True)
class Weigh:
    """A spool on the scale: gross mass and the mass of its empty body, grams."""

    spool: str
    gross_g: float
    body_g: float


@dataclass(frozen=True, slots=True)
class SpoolEmpty:
    """Nothing usable is left on a spool."""

    spool: str


@dataclass(frozen=True, slots=True)
class Quarantine:
    """Keep a spool from being used."""

    spool: str
    why: str


@dataclass(frozen=True, slots=True)
class ClearSpool:
    """Let a quarantined spool be used again; ``wet``: it has to be dried first."""

    spool: str
    wet: bool = True


@dataclass(frozen=True, slots=True)
class FoundWet:
    """A spool that counted as dry is not."""

    spool: str
    why: str


@dataclass(frozen=True, slots=True)
class HandOver:
    """Notes of one shift for the next."""

    note: str


@dataclass(frozen=True, slots=True)
class Undo:
    """Take the last step of a thing back; the number of its event."""

    event: int


Command = (
    Pull
    | LetGo
    | MountSpool
    | ChamberOn
    | FirstLayer
    | PrintEnded
    | TakeOff
    | Fail
    | ClearPlate
    | LoadDryer
    | EmptyDryer
    | LoadOven
    | EmptyOven
    | Inspect
    | Hold
    | Release
    | MachineDown
    | MachineUp
    | Weigh
    | SpoolEmpty
    | Quarantine
    | ClearSpool
    | FoundWet
    | HandOver
    | Undo
)

#: Usual causes of a failure, as they are offered.
CAUSES = (
    "came off the plate",
    "nozzle clogged",
    "filament ran out",
    "filament was wet",
    "layers shifted",
    "warped or cracked",
    "power cut",
    "machine fault",
    "wrong lot or material",
    "something else",
)
