"""The parts of an explanation before they are shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

LinkKind = Literal[
    "release",  # not released yet
    "delivery",  # its spool is not delivered yet
    "machine",  # another job holds the printer
    "dryer",  # the dryer is taken
    "drying",  # its spool dries
    "spool",  # another job holds its spool
    "downtime",  # a machine is down
    "night",  # nobody is there
    "hands",  # everybody there is busy
    "pinned",  # held to an instant
    "choice",  # no rule asks for the wait
    "changeover",
    "heating",
    "falling",  # a cool job after a hot one
    "soak",
    "start",
    "print",
    "cooldown",
    "unload",
    "oven",  # the oven is taken
    "sharing",  # waits for other parts of the same oven load
    "anneal",
    "finish",
    "forced",  # begun work that can't keep a rule
    "refused",  # why it is not placed
]

#: Waits that other decisions could have made shorter, as opposed to the job's own work.
AVOIDABLE: frozenset[LinkKind] = frozenset(
    (
        "delivery",
        "machine",
        "dryer",
        "drying",
        "spool",
        "downtime",
        "night",
        "hands",
        "pinned",
        "choice",
        "oven",
        "sharing",
    )
)


@dataclass(frozen=True, slots=True)
class Piece:
    """Minutes ``[start, end)`` of a chain with a phrase that fits behind "2 h late: ".

    Parameters
    ----------
    cause : str
        Pieces of one cause count together: a machine's id, a spool's, ....
    named : bool
        True if the phrase begins with an id, which keeps its spelling at a sentence's head.
    """

    kind: LinkKind
    start: int
    end: int
    phrase: str
    cause: str = ""
    named: bool = False

    @property
    def minutes(self) -> int:
        return self.end - self.start

    def clipped(self, start: int, end: int) -> Piece | None:
        """The part inside ``[start, end)``; ``None`` if nothing is left."""
        lo, hi = max(self.start, start), min(self.end, end)
        return Piece(self.kind, lo, hi, self.phrase, self.cause, self.named) if lo < hi else None
