"""Jobs: one plate each, printed once on one printer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.model.common import FeedChoice, Step


@dataclass(frozen=True, slots=True)
class Feed:
    """What one head must lay down for a job.

    Parameters
    ----------
    grams : float
        Draw from the spool, grams, purge and waste included.
    nozzle_mm : tuple of float
        Bores that the print program allows, mm.
    certs : tuple of str
        Certificates that the spool must carry.
    """

    material: str
    grams: float
    nozzle_mm: tuple[float, ...]
    certs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pin:
    """The printer and the instant of print start that a job is held to."""

    printer: str
    print_start: datetime


@dataclass(frozen=True, slots=True)
class Progress:
    """A job begun before ``plan_start``: where, with what, and its begun steps (a prefix of the six)."""

    printer: str
    feeds: tuple[FeedChoice, ...]
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """One plate of an order.

    Parameters
    ----------
    print_min : int
        Print time at speed factor 1, minutes.
    size_mm : tuple of float
        x, y, z of the whole plate's content, mm; z is the build direction.
    finish_min : int
        Work after the last step until it can go out, minutes.
    release : datetime
        Nothing starts for it before.
    due : datetime or None
        When it should be done; ``None``: never late.
    weight : float
        Cost of one late hour, in late hours.
    same_lot_as : str or None
        A job whose first feed's lot this job's first feed must share.
    feeds : tuple of Feed
        One or two; the first is the part, the second support or second material.
    """

    id: str
    order: str
    part: str
    quantity: int
    print_min: int
    size_mm: tuple[float, float, float]
    needs_qualified: tuple[str, ...]
    anneal: bool
    finish_min: int
    release: datetime
    due: datetime | None
    weight: float
    same_lot_as: str | None
    pinned: Pin | None
    feeds: tuple[Feed, ...]
    progress: Progress | None
