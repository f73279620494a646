"""What varies on the floor, and by how much: documented defaults, and a shop's own figures over them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from scheduler.model.errors import SoaklineError


class BadVariation(SoaklineError):
    """A figure of the variation that cannot be."""


@dataclass(frozen=True, slots=True)
class PrintLuck:
    """How prints of one material on one machine come out.

    Parameters
    ----------
    factor : float
        Median of actual over estimated print minutes.
    spread : float
        Standard deviation of that ratio's logarithm from print to print.
    doubt : float
        Standard deviation of the logarithm of ``factor`` itself: how well it is known. It is drawn once
        a replication, because it is the same for all prints.
    failing : float
        Chance that a print fails and is printed again, 0 to 1.
    """

    factor: float
    spread: float
    doubt: float
    failing: float

    def __post_init__(self) -> None:
        if not 0.2 <= self.factor <= 5:
            raise BadVariation(f"print times are {self.factor:g} times the estimate; asked for: 0.2 to 5")
        if not (0 <= self.spread <= 1 and 0 <= self.doubt <= 1):
            raise BadVariation(f"a spread of {max(self.spread, self.doubt):g} is not between 0 and 1")
        if not 0 <= self.failing < 1:
            raise BadVariation(f"a chance of failing of {self.failing:g} is not from 0 to under 1")


#: Before a shop has records: estimates are right in the middle, nine in ten prints within 13 % of them,
#: one print in twenty fails. These are working assumptions and no measurements; records replace them.
USUAL = PrintLuck(factor=1.0, spread=0.08, doubt=0.05, failing=0.05)


@dataclass(frozen=True, slots=True)
class Variation:
    """Everything that a replication draws.

    All defaults are working assumptions, to be replaced by the shop's own figures.

    Parameters
    ----------
    usual : PrintLuck
        Where ``cells`` has nothing for a machine and material.
    cells : mapping from (printer id, material id) to PrintLuck
    hours_between_breakdowns : float
        Printing hours of one machine from one breakdown to the next, on the average.
    repair_h : float
        Mean length of a repair; exponentially distributed.
    absent : float
        Chance that a person of a shift does not come.
    rush_per_machine_day : float
        Plates a day and machine that are put before the plan's.
    rush_h : float
        Median print hours of such a plate, with a factor of two either way for two in three.
    planned : mapping from job id to float
        Jobs whose planned print minutes are the estimate times this already; only what is left of the
        factor of ``cells`` is drawn for them.
    levels : mapping from float to float
        By chance, at which chance of what is drawn a date promised with it is read; see `kept.levels`.
    """

    usual: PrintLuck = USUAL
    cells: Mapping[tuple[str, str], PrintLuck] = field(default_factory=dict)
    hours_between_breakdowns: float = 1000.0
    repair_h: float = 4.0
    absent: float = 0.03
    rush_per_machine_day: float = 0.02
    rush_h: float = 4.0
    planned: Mapping[str, float] = field(default_factory=dict)
    levels: Mapping[float, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.hours_between_breakdowns <= 0 or self.repair_h < 0 or self.rush_h < 0:
            raise BadVariation(
                "hours between breakdowns are not above 0, or a repair or rush plate is negative"
            )
        if not 0 <= self.absent < 1 or not 0 <= self.rush_per_machine_day <= 10:
            raise BadVariation(
                f"absence is {self.absent:g} (asked for: 0 to under 1), rush plates a machine and day "
                f"{self.rush_per_machine_day:g} (asked for: 0 to 10)"
            )

    def luck(self, printer: str, material: str) -> PrintLuck:
        """How prints of a material on a machine come out."""
        return self.cells.get((printer, material), self.usual)

    def level(self, chance: float) -> float:
        """At which chance of what is drawn a date promised with ``chance`` is read."""
        return self.levels.get(chance, chance)


#: Nothing varies: the plan comes out minute by minute.
NONE = Variation(
    usual=PrintLuck(1.0, 0.0, 0.0, 0.0),
    hours_between_breakdowns=1e12,
    repair_h=0.0,
    absent=0.0,
    rush_per_machine_day=0.0,
)
