"""What a customer asks for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from scheduler.model import Feed, Material
from scheduler.model.errors import SoaklineError

#: Most parts that one line may ask for.
MOST_PARTS = 5000
#: Most lines of one quote.
MOST_LINES = 40


class BadAsk(SoaklineError):
    """Something in a request that can't be, with a line for each."""


@dataclass(frozen=True, slots=True)
class AskLine:
    """Parts of one kind.

    Parameters
    ----------
    quantity : int
        Parts asked for.
    size_mm : tuple of float
        x, y, z of one part as it is to be printed, mm.
    print_min : float
        Print minutes of one part at speed factor 1.
    grams : float
        Filament of one part, purge and waste included.
    nozzle_mm : tuple of float
        Bores that the print program allows, mm.
    certs, needs_qualified : tuple of str
        Tags that the spool must carry, and the printer.
    one_lot : bool
        Whether all parts must come from one lot.
    finish_min : int
        Work after the last step, minutes a plate.
    """

    part: str
    quantity: int
    material: str
    size_mm: tuple[float, float, float]
    print_min: float
    grams: float
    nozzle_mm: tuple[float, ...] = (0.4, 0.6)
    certs: tuple[str, ...] = ()
    needs_qualified: tuple[str, ...] = ()
    anneal: bool = False
    one_lot: bool = False
    finish_min: int = 0

    def feed(self, parts: int) -> Feed:
        """What a plate with so many parts draws."""
        return Feed(self.material, round(self.grams * parts, 3), self.nozzle_mm, self.certs)


@dataclass(frozen=True, slots=True)
class Ask:
    """All lines of a request, and when it is wanted.

    Parameters
    ----------
    wanted : datetime or None
        The customer's wish; ``None``: as soon as may be.
    buy_days : int or None
        Days until filament that is missing is delivered; ``None``: nothing is bought for it.
    """

    lines: tuple[AskLine, ...]
    wanted: datetime | None = None
    buy_days: int | None = 3

    @property
    def parts(self) -> str:
        """In one line of text: "6 × bracket, 1 × cover"."""
        return ", ".join(f"{line.quantity} × {line.part}" for line in self.lines)

    def content(self) -> dict[str, Any]:
        """As JSON can carry it."""
        return {
            "wanted": None if self.wanted is None else self.wanted.isoformat(),
            "buy_days": self.buy_days,
            "lines": [
                {name: getattr(line, name) for name in AskLine.__dataclass_fields__} for line in self.lines
            ],
        }


def ask_of(content: dict[str, Any]) -> Ask:
    """The request that `Ask.content` wrote."""
    wanted = content["wanted"]
    lists = ("size_mm", "nozzle_mm", "certs", "needs_qualified")
    lines = []
    for line in content["lines"]:
        lines.append(AskLine(**{**line, **{name: tuple(line[name]) for name in lists}}))
    return Ask(tuple(lines), None if wanted is None else datetime.fromisoformat(wanted), content["buy_days"])


def must_be_possible(ask: Ask, materials: dict[str, Material]) -> None:
    """Raise `BadAsk` with everything that can't be."""
    faults = []
    if not 1 <= len(ask.lines) <= MOST_LINES:
        faults.append(f"lines: {len(ask.lines)} given, from 1 to {MOST_LINES} can be asked for")
    if ask.buy_days is not None and not 0 <= ask.buy_days <= 365:
        faults.append(f"delivery days: {ask.buy_days} is not from 0 to 365")
    for number, line in enumerate(ask.lines, 1):
        where = f"line {number}"
        if not line.part.strip():
            faults.append(f"{where}: the part has no name")
        if not 1 <= line.quantity <= MOST_PARTS:
            faults.append(f"{where}: quantity {line.quantity} is not from 1 to {MOST_PARTS}")
        material = materials.get(line.material)
        if material is None:
            faults.append(f"{where}: there is no material {line.material!r} in the shop")
        elif line.anneal and material.anneal is None:
            faults.append(f"{where}: {line.material} has no annealing recorded, but annealing is asked for")
        if not all(0 < side <= 5000 for side in line.size_mm):
            faults.append(f"{where}: size {_by(line.size_mm)} mm is not from over 0 to 5000 each way")
        if not 0 < line.print_min <= 60 * 24 * 30:
            faults.append(f"{where}: print time {line.print_min:g} min is not over 0 and up to 30 days")
        if not 0 < line.grams <= 100_000:
            faults.append(f"{where}: {line.grams:g} g is not over 0 and up to 100 000")
        if not line.nozzle_mm or not all(0 < bore <= 5 for bore in line.nozzle_mm):
            faults.append(f"{where}: no nozzle, or one that is not over 0 and up to 5 mm")
        if not 0 <= line.finish_min <= 60 * 24 * 30:
            faults.append(f"{where}: finishing of {line.finish_min} min is not from 0 to 30 days")
    if faults:
        raise BadAsk("\n".join(faults))


def _by(size_mm: tuple[float, float, float]) -> str:
    return " × ".join(f"{side:g}" for side in size_mm)
