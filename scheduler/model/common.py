"""Small values that every other part of the model is made of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

StepKind = Literal["changeover", "preheat", "start", "print", "cooldown", "unload"]

#: The steps of a job on its printer, in the order in which they follow one another.
PRINTER_STEPS: tuple[StepKind, ...] = (
    "changeover",
    "preheat",
    "start",
    "print",
    "cooldown",
    "unload",
)

#: The printer steps for which a person stands at the machine.
ATTENDED_STEPS: tuple[StepKind, ...] = ("changeover", "start", "unload")


@dataclass(frozen=True, slots=True)
class Span:
    """A closed window of one quantity, for example of a temperature in °C.

    Parameters
    ----------
    lo, hi : float
        Both ends belong to the window; ``lo <= hi``.
    """

    lo: float
    hi: float

    def __post_init__(self) -> None:
        if self.lo > self.hi:
            raise ValueError(f"a window from {self.lo:g} to {self.hi:g} is upside down")

    def clip(self, value: float) -> float:
        """The value of the window that is nearest to ``value``."""
        return min(max(value, self.lo), self.hi)


@dataclass(frozen=True, slots=True)
class Downtime:
    """A stretch ``[start, end)`` in which a machine can do nothing, and why."""

    start: datetime
    end: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class Step:
    """One printer step, planned or begun, over ``[start, end)``."""

    kind: StepKind
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class FeedChoice:
    """Which head, nozzle and spool serve one feed of a job."""

    head: str
    nozzle: str
    spool: str


@dataclass(frozen=True, slots=True)
class DryerRun:
    """Spools together in one dryer at one setpoint over ``[start, end)``."""

    id: str
    dryer: str
    setpoint_c: float
    start: datetime
    end: datetime
    spools: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OvenRun:
    """Printed jobs annealed together in one oven over ``[start, end)``."""

    id: str
    oven: str
    temp_c: float
    start: datetime
    end: datetime
    jobs: tuple[str, ...]
