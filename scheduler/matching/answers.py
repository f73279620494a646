"""What the matcher answers."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.model import Figure, Reason

#: The fourteen checks, in the order in which reasons are told.
CHECKS: tuple[str, ...] = (
    "hot_end",
    "bed",
    "chamber",
    "surface",
    "filament",
    "nozzle",
    "volume",
    "extraction",
    "qualification",
    "heads",
    "spool",
    "oven",
    "open_time",
    "staffed",
)

#: Rank of a check's name in :data:`CHECKS`.
CHECK_RANK: dict[str, int] = {name: rank for rank, name in enumerate(CHECKS)}


@dataclass(frozen=True, slots=True)
class Finding:
    """A failed check before it is told where: both figures, and a sentence that carries them."""

    check: str
    asked: Figure
    there: Figure
    text: str

    def at(self, printer: str | None, head: str | None = None, nozzle: str | None = None) -> Reason:
        """The finding as a reason at a printer, and at a head with a nozzle where it is theirs."""
        return Reason(self.check, printer, head, nozzle, self.asked, self.there, self.text)


@dataclass(frozen=True, slots=True)
class HeadNozzle:
    """The head and the nozzle that serve one feed."""

    head: str
    nozzle: str


@dataclass(frozen=True, slots=True)
class Assignment:
    """A head with a nozzle for each feed of a job, in the feeds' order; the heads differ."""

    feeds: tuple[HeadNozzle, ...]


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether anything in the shop fits a job, and if not, why.

    Parameters
    ----------
    reasons : tuple of Reason
        Empty for a job that something fits. Up to 50 printers: what fails on each, in the
        scenario's order. Above: what fails on the 20 nearest, nearest first, then one reason for
        each set of failing checks among the rest, with ``printer`` ``None``, the checks' names
        joined by ", " and the number of printers as ``there``; most printers first.
    nearest : str or None
        The printer with the fewest distinct failing checks, ties by id; ``None`` if the job fits
        somewhere or there is no printer.
    """

    fits: bool
    reasons: tuple[Reason, ...]
    nearest: str | None
