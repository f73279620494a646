"""Machines grouped by how hot they get, in words that carry the figure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.model import Printer


@dataclass(frozen=True, slots=True)
class ThermalClass:
    """Printers whose chamber reaches at most ``up_to_c``; ``None``: the class without a limit."""

    key: str
    title: str
    up_to_c: float | None


#: Chambers up to 90 °C suit ABS, ASA, PC and polyamides, up to 150 °C also filled PPS and the cooler
#: windows of the high-temperature polymers; sulfones and the polyaryletherketones want more.
#: The limits only sort the board; the matcher judges by each machine's own figure.
OPEN = ThermalClass("open", "Open printers", None)
CLASSES = (
    ThermalClass("warm", "Warm chambers", 90.0),
    ThermalClass("hot", "Hot chambers", 150.0),
    ThermalClass("very-hot", "Very hot chambers", None),
)


def thermal_class(printer: Printer) -> ThermalClass:
    """The class of one printer."""
    if printer.chamber_max_c is None:
        return OPEN
    for thermal in CLASSES:
        if thermal.up_to_c is None or printer.chamber_max_c <= thermal.up_to_c:
            return thermal
    return CLASSES[-1]


def grouped(printers: Iterable[Printer]) -> tuple[tuple[ThermalClass, tuple[Printer, ...]], ...]:
    """The classes that the fleet has, coolest first, with their printers in the fleet's order."""
    found: dict[ThermalClass, list[Printer]] = {}
    for printer in printers:
        found.setdefault(thermal_class(printer), []).append(printer)
    return tuple((thermal, tuple(found[thermal])) for thermal in (OPEN, *CLASSES) if thermal in found)


def span_words(printers: Iterable[Printer]) -> str:
    """How hot these chambers get: "up to 75 °C", "80 to 140 °C" or "no heated chamber"."""
    figures = sorted(printer.chamber_max_c for printer in printers if printer.chamber_max_c is not None)
    if not figures:
        return "no heated chamber"
    low, high = figures[0], figures[-1]
    return f"up to {high:g} °C" if low == high else f"up to {low:g}–{high:g} °C"
