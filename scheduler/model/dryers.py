"""Dryers for filament and ovens for printed parts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from scheduler.model.common import Downtime

DryerKind = Literal["batch", "rolling"]


@dataclass(frozen=True, slots=True)
class Dryer:
    """An oven or cabinet that dries spools.

    Parameters
    ----------
    kind : "batch" or "rolling"
        A batch dryer is loaded, warmed up and emptied as a whole; a rolling one always stands at
        ``fixed_c`` and takes spools one by one.
    max_c : float
        Hottest setpoint, °C.
    fixed_c : float or None
        The setpoint of a rolling dryer, °C; ``None`` for a batch dryer.
    slots : int
        Spools that it holds at once.
    warmup_min : int
        Minutes before a batch run is at its setpoint.
    """

    id: str
    kind: DryerKind
    max_c: float
    fixed_c: float | None
    vacuum: bool
    slots: int
    warmup_min: int
    downtime: tuple[Downtime, ...]


@dataclass(frozen=True, slots=True)
class Oven:
    """An annealing oven; a dryer with the same id is the same machine."""

    id: str
    max_c: float
    slots: int
    downtime: tuple[Downtime, ...]
