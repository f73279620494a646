"""Heads and nozzles for feeds: every way to seat a job's feeds, and the best one.

A seat is a head with one of its nozzles. What a seat fails in checks 1, 5 and 6 hangs on the
feed's material and allowed bores alone; check 13 hangs on the print's length as well, so each way
of seating keeps which feeds take up water there, and is judged when the length is known.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import permutations, product

import numpy as np
from numpy.typing import NDArray

from scheduler.matching import head_checks
from scheduler.matching.fleet import BoolRow, FloatRow, head_figures, numbered
from scheduler.model import Feed, Head, Material, Nozzle, Printer

HOT_END, FILAMENT, NOZZLE, OPEN_TIME = 1, 2, 4, 8
#: Names of the checks behind the bits above, lowest bit first.
SEAT_CHECKS = ("hot_end", "filament", "nozzle", "open_time")
_COUNT = np.array([bin(bits).count("1") for bits in range(16)], dtype=np.int16)
_NO_WAY = 10_000

#: Indices of a head and of its nozzle; ``None`` on a head for which no nozzle lies ready.
Place = tuple[int, int | None]


def ways(heads: Sequence[Head], feeds: int) -> tuple[tuple[Place, ...], ...]:
    """Every seating of so many feeds on different heads, in the order of heads, then nozzles."""
    found: list[tuple[Place, ...]] = []
    for chosen in permutations(range(len(heads)), feeds):
        nozzles: list[list[int | None]] = [list(range(len(heads[head].nozzles))) or [None] for head in chosen]
        found.extend(tuple(zip(chosen, picked, strict=True)) for picked in product(*nozzles))
    return tuple(found)


def seat_bits(material: Material, feed: Feed, head: Head, nozzle: Nozzle | None) -> int:
    """Which of checks 1, 5 and 6 fail for a feed on a seat, as bits."""
    bits = HOT_END if head_checks.hot_end(material, head, nozzle) else 0
    bits |= FILAMENT if head_checks.filament(material, head) else 0
    return bits | (NOZZLE if head_checks.nozzle(material, feed, head, nozzle) else 0)


@dataclass(frozen=True, slots=True)
class Seating:
    """All ways for one set of feeds on every head set-up; rows are set-ups, columns ways.

    Parameters
    ----------
    failing : array of int
        Bits of checks 1, 5 and 6 that fail for some feed.
    reasons : array of int
        How many reasons these make; very many where there is no such way.
    exposed : array of bool, last axis the feeds
        Whether the feed's spool takes up water there.
    bears_min : array of float, one for each feed
        Longest exposure that the feed's material bears, infinite where none is counted.
    longest_min : array of float, one for each set-up
        Longest exposure with which some way passes all of 1, 5, 6 and 13; ``-inf``: none passes.
    """

    failing: NDArray[np.int16]
    reasons: NDArray[np.int16]
    exposed: BoolRow
    bears_min: FloatRow
    longest_min: FloatRow


class Seats:
    """The head set-ups of a fleet, as arrays of seats.

    Printers whose heads differ in nothing but names share a set-up.
    """

    def __init__(self, kinds: Sequence[Printer]) -> None:
        looks, self.setup_of = numbered([tuple(map(head_figures, kind.heads)) for kind in kinds])
        examples: dict[Hashable, Printer] = {}
        for kind, setup in zip(kinds, self.setup_of, strict=True):
            examples.setdefault(int(setup), kind)
        self._setups = [examples[setup].heads for setup in range(len(looks))]
        seats = [
            (head, nozzle) for heads in self._setups for head in heads for nozzle in (head.nozzles or (None,))
        ]
        figures = [_seat_figures(head, nozzle) for head, nozzle in seats]
        distinct, _ = numbered(figures)
        self._place = {look: place for place, look in enumerate(distinct)}
        first = dict(zip(reversed(figures), reversed(seats), strict=True))
        self._examples = [first[look] for look in distinct]
        self._layouts: dict[int, tuple[NDArray[np.intp], BoolRow]] = {}
        self._bits: dict[tuple[str, tuple[float, ...]], NDArray[np.int16]] = {}

    def _layout(self, feeds: int) -> tuple[NDArray[np.intp], BoolRow]:
        """Seat of each feed, and whether it lies in room air, for each set-up and way (-1: none)."""
        if feeds not in self._layouts:
            all_ways = [ways(heads, feeds) for heads in self._setups]
            shape = (len(all_ways), max((len(each) for each in all_ways), default=0), feeds)
            seat = np.full(shape, -1, dtype=np.intp)
            exposed = np.zeros(shape, dtype=np.bool_)
            for setup, (heads, each) in enumerate(zip(self._setups, all_ways, strict=True)):
                for way, places in enumerate(each):
                    for feed, (head, nozzle) in enumerate(places):
                        fitted = None if nozzle is None else heads[head].nozzles[nozzle]
                        seat[setup, way, feed] = self._place[_seat_figures(heads[head], fitted)]
                        exposed[setup, way, feed] = not heads[head].dry_feed
            self._layouts[feeds] = seat, exposed
        return self._layouts[feeds]

    def _seat_row(self, material: Material, feed: Feed) -> NDArray[np.int16]:
        key = (material.id, feed.nozzle_mm)
        if key not in self._bits:
            bits = [seat_bits(material, feed, head, nozzle) for head, nozzle in self._examples]
            self._bits[key] = np.array(bits, dtype=np.int16)
        return self._bits[key]

    def seating(self, materials: Sequence[Material], feeds: Sequence[Feed]) -> Seating:
        """Judge every way of seating these feeds on every set-up, the print's length apart."""
        seat, exposed = self._layout(len(feeds))
        failing = np.zeros(seat.shape[:2], dtype=np.int16)
        reasons = np.zeros(seat.shape[:2], dtype=np.int16)
        bears = [head_checks.bears_min(material, dry_feed=False) for material in materials]
        longest = np.full(seat.shape[:2], np.inf)
        for place, (material, feed) in enumerate(zip(materials, feeds, strict=True)):
            bits = self._seat_row(material, feed)[seat[:, :, place]]
            failing |= bits
            reasons += _COUNT[bits]
            longest = np.where(exposed[:, :, place], np.minimum(longest, bears[place]), longest)
        no_way = seat[:, :, 0] < 0
        reasons[no_way] = _NO_WAY
        longest[no_way | (failing > 0)] = -np.inf
        best = longest.max(axis=1, initial=-np.inf)
        return Seating(failing, reasons, exposed, np.array(bears, dtype=np.float64), best)


def best_ways(seating: Seating, setups: NDArray[np.intp], exposure_min: FloatRow) -> NDArray[np.intp]:
    """The best way for each of several printers, given their set-ups and least exposures.

    Fewest distinct failing checks, then fewest reasons, then the order of heads and nozzles.
    Every set-up must have as many heads as there are feeds.
    """
    over = _overexposed(seating, setups, exposure_min)
    distinct = _COUNT[seating.failing[setups]] + (over > 0)
    return np.asarray(np.argmin(distinct * 64 + seating.reasons[setups] + over, axis=1))


def failing_bits(seating: Seating, setups: NDArray[np.intp], exposure_min: FloatRow) -> NDArray[np.int16]:
    """Bits of checks 1, 5, 6 and 13 that fail in the best way of each printer."""
    best = best_ways(seating, setups, exposure_min)
    rows = np.arange(len(setups))
    over = _overexposed(seating, setups, exposure_min)[rows, best]
    return np.asarray(seating.failing[setups, best] | np.where(over > 0, OPEN_TIME, 0), dtype=np.int16)


def passing_ways(seating: Seating, setup: int, exposure_min: float) -> NDArray[np.intp]:
    """The ways of one set-up that pass checks 1, 5, 6 and 13."""
    over = _overexposed(seating, np.array([setup]), np.array([exposure_min]))[0]
    return np.flatnonzero((over == 0) & (seating.reasons[setup] == 0))


def passing_on(seating: Seating, setups: NDArray[np.intp], exposure_min: FloatRow) -> NDArray[np.bool_]:
    """For several printers and every way, whether it passes checks 1, 5, 6 and 13."""
    over = _overexposed(seating, setups, exposure_min)
    return np.asarray((over == 0) & (seating.reasons[setups] == 0))


def _overexposed(seating: Seating, setups: NDArray[np.intp], exposure_min: FloatRow) -> NDArray[np.int16]:
    """For each printer and way, how many feeds would lie in room air for too long."""
    too_long = exposure_min[:, None] > seating.bears_min
    return np.asarray((seating.exposed[setups] & too_long[:, None, :]).sum(axis=2, dtype=np.int16))


def _seat_figures(head: Head, nozzle: Nozzle | None) -> Hashable:
    if nozzle is None:
        return (head.max_c, head.filament_mm)
    return (
        head.max_c,
        head.filament_mm,
        nozzle.size_mm,
        nozzle.hardened,
        nozzle.corrosion_proof,
        nozzle.max_c,
    )
