"""Printers in classes: those that the matcher cannot tell apart share every answer."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from scheduler.model import Head, Printer

BoolRow = NDArray[np.bool_]
FloatRow = NDArray[np.float64]
IndexRow = NDArray[np.intp]
Look = TypeVar("Look", bound=Hashable)


def head_figures(head: Head) -> Hashable:
    """What the checks look at in a head, names apart."""
    nozzles = tuple((n.size_mm, n.hardened, n.corrosion_proof, n.max_c) for n in head.nozzles)
    return (head.max_c, head.filament_mm, head.dry_feed, nozzles)


def printer_figures(printer: Printer) -> Hashable:
    """All that the matcher's answers hang on in a printer, the names of heads and nozzles too."""
    names = tuple((head.id, tuple(n.id for n in head.nozzles)) for head in printer.heads)
    return (
        names,
        tuple(head_figures(head) for head in printer.heads),
        printer.bed_max_c,
        printer.chamber_max_c,
        printer.cool_tau_min,
        printer.bed_heat_min,
        printer.bed_cool_min,
        printer.volume_mm,
        printer.surfaces,
        printer.extraction,
        printer.unattended,
        printer.speed_factor,
        printer.qualified,
    )


def numbered(values: Sequence[Look]) -> tuple[list[Look], IndexRow]:
    """The distinct values in the order in which they come, and each one's place among them."""
    places: dict[Look, int] = {}
    index = np.fromiter((places.setdefault(v, len(places)) for v in values), np.intp, len(values))
    return list(places), index


class Trait:
    """One figure of each printer class, so that a check on it runs once for each distinct figure."""

    def __init__(self, kinds: Sequence[Printer], look: Callable[[Printer], Hashable]) -> None:
        looks, self._index = numbered([look(kind) for kind in kinds])
        seen: dict[Hashable, Printer] = {}
        for kind in kinds:
            seen.setdefault(look(kind), kind)
        self._examples = [seen[each] for each in looks]

    def holds(self, check: Callable[[Printer], bool]) -> BoolRow:
        """A check's outcome for every class."""
        return np.array([check(example) for example in self._examples], dtype=np.bool_)[self._index]

    def figures(self, measure: Callable[[Printer], float]) -> FloatRow:
        """A figure worked out for every class."""
        return np.array([measure(example) for example in self._examples], dtype=np.float64)[self._index]


class Fleet:
    """The printers of a scenario, their classes, and what the checks look at as rows of figures.

    A class is a number from 0; ``kinds[c]`` is the first printer of class ``c`` and stands for all
    of them. Rows have one entry for each class.
    """

    def __init__(self, printers: Sequence[Printer]) -> None:
        self.printers = tuple(printers)
        figures, self.class_of = numbered([printer_figures(p) for p in self.printers])
        first = np.full(len(figures), -1, dtype=np.intp)
        for place, kind in enumerate(self.class_of):
            if first[kind] < 0:
                first[kind] = place
        self.kinds = tuple(self.printers[place] for place in first)
        self.class_of_id = {p.id: int(c) for p, c in zip(self.printers, self.class_of, strict=True)}
        self.ids = np.array([p.id for p in self.printers], dtype=object)
        self.bed_heat_min = self._row(lambda p: p.bed_heat_min)
        self.speed_factor = self._row(lambda p: p.speed_factor)
        self.head_count = self._row(lambda p: len(p.heads))
        self.alone = np.array([p.unattended for p in self.kinds], dtype=np.bool_)
        self.across_mm = self._row(lambda p: p.volume_mm[0])
        self.deep_mm = self._row(lambda p: p.volume_mm[1])
        self.high_mm = self._row(lambda p: p.volume_mm[2])
        self.bed = Trait(self.kinds, lambda p: p.bed_max_c)
        self.chamber = Trait(self.kinds, lambda p: p.chamber_max_c)
        self.surface = Trait(self.kinds, lambda p: p.surfaces)
        self.extraction = Trait(self.kinds, lambda p: p.extraction)
        self.qualified = Trait(self.kinds, lambda p: p.qualified)
        self.cooling = Trait(self.kinds, lambda p: (p.chamber_max_c, p.cool_tau_min, p.bed_cool_min))

    def _row(self, measure: Callable[[Printer], float]) -> FloatRow:
        return np.array([measure(kind) for kind in self.kinds], dtype=np.float64)

    def volume_row(self, size_mm: tuple[float, float, float]) -> BoolRow:
        """Check 7 for every class."""
        x, y, z = size_mm
        straight = (x <= self.across_mm) & (y <= self.deep_mm)
        turned = (y <= self.across_mm) & (x <= self.deep_mm)
        return (z <= self.high_mm) & (straight | turned)
