"""A part of a shop, what a worker is asked to do with it, and what it answers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.planning.parts.rows import Real, Whole

Marks = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Part:
    """What one worker may change, so that no two that work at the same time can want the same.

    Parameters
    ----------
    printers, spools, machines : bool arrays
        What its jobs may be put on; the machines are dryers and ovens.
    jobs : int32 array
        Jobs that may move, those without a place among them.
    share, shares : int
        Which share of the spare hands of every minute is its own, of how many.
    """

    printers: Marks
    spools: Marks
    machines: Marks
    jobs: Whole
    share: int
    shares: int


@dataclass(frozen=True)
class Errand:
    """A part to improve.

    Parameters
    ----------
    number : int
        Of this errand in its run.
    ground, base : str
        Names of the shop's arrays and of the plan that is to be improved.
    rows : bytes
        That plan, packed.
    seed : int
        Of the random numbers.
    hot, cold : float
        Temperature at its beginning and end, weighted late minutes.
    seconds : float
        How long to work.
    rounds : int or None
        How many rounds to work instead.
    tuning : tuple of float
        As `State.tune` has it.
    """

    number: int
    ground: str
    base: str
    rows: bytes
    part: Part
    seed: int
    hot: float
    cold: float
    seconds: float
    rounds: int | None
    tuning: tuple[float, ...]


@dataclass(frozen=True)
class Answer:
    """What came of an errand.

    Attributes
    ----------
    number : int
        Of the errand.
    base : str
        Name of the plan that it began with.
    jobs : int32 array
        Jobs that stand otherwise now.
    whole, celsius : arrays
        Their rows.
    gain : float
        By how much the cost fell, weighted minutes.
    rounds : int
        Rounds of the search.
    cpu_s : float
        Seconds of a processor that it took, putting the plan back included.
    """

    number: int
    base: str
    jobs: Whole
    whole: Whole
    celsius: Real
    gain: float
    rounds: int
    cpu_s: float
