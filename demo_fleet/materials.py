"""Thirteen generic materials of twelve polymers, and a soluble support; MATERIALS.md names every source.

The figures lie inside the ranges that MATERIALS.md gives. They are a made-up shop's choices and no
data sheet: a shop enters its own.
"""

from __future__ import annotations

from dataclasses import replace

from scheduler.model import Anneal, DryingRow, Filler, Material, Purge, Span


def _rows(*rows: tuple[float, float] | tuple[float, float, bool]) -> tuple[DryingRow, ...]:
    return tuple(DryingRow(row[0], row[1], bool(row[2]) if len(row) == 3 else False) for row in rows)


def _material(
    name: str,
    polymer: str,
    filled: Filler | None,
    nozzle: tuple[float, float],
    bed: tuple[float, float],
    chamber: tuple[float, float, float],
    surfaces: tuple[str, ...],
    drying: tuple[DryingRow, ...],
    open_min: int | None,
    *,
    soak: int,
    release: float,
    cap: float | None = None,
    anneal: tuple[float, float] | None = None,
    extraction: bool = False,
    corrosive: bool = False,
) -> Material:
    """One row of the table; ``chamber`` is lowest, preferred, highest in °C."""
    return Material(
        id=name,
        polymer=polymer,
        filled=filled,
        filament_mm=1.75,
        nozzle_c=Span(*nozzle),
        bed_c=Span(*bed),
        chamber_c=Span(chamber[0], chamber[2]),
        chamber_set_c=chamber[1],
        surfaces=surfaces,
        abrasive=filled is not None,
        corrosive=corrosive,
        needs_extraction=extraction,
        min_nozzle_mm=0.4 if filled is None else 0.6,
        drying=drying,
        open_time_min=open_min,
        soak_min=soak,
        release_c=release,
        max_cool_c_per_min=cap,
        anneal=None if anneal is None else Anneal(*anneal),
    )


MATERIALS: tuple[Material, ...] = (
    _material(
        "PLA", "PLA", None, (190, 220), (20, 60), (15, 22, 35), ("textured", "glass"),
        _rows((50, 6)), None, soak=0, release=40,
    ),
    _material(
        "PETG", "PETG", None, (220, 250), (70, 85), (15, 30, 45), ("textured",),
        _rows((65, 5)), None, soak=5, release=45,
    ),
    _material(
        "TPU", "TPU", None, (210, 240), (20, 70), (15, 22, 45), ("textured", "glass"),
        _rows((65, 6), (80, 4)), 960, soak=0, release=45,
    ),
    _material(
        "ASA", "ASA", None, (230, 260), (90, 110), (40, 65, 80), ("textured", "sheet"),
        _rows((80, 4)), 1440, soak=15, release=50, cap=1.0, extraction=True,
    ),
    _material(
        "PC", "PC", None, (260, 310), (100, 130), (60, 90, 110), ("sheet",),
        _rows((110, 6), (100, 8)), 480, soak=20, release=60, cap=0.8, anneal=(130, 6), extraction=True,
    ),
    _material(
        "PA12-CF", "PA12", "carbon", (255, 290), (80, 110), (15, 60, 90), ("textured", "laminate"),
        _rows((90, 6), (80, 8), (80, 5, True)), 1200, soak=10, release=55, extraction=True,
    ),
    _material(
        "PA6-GF", "PA6", "glass", (270, 310), (80, 120), (40, 75, 100), ("laminate",),
        _rows((110, 6), (80, 12), (80, 7, True)), 480, soak=15, release=55, anneal=(110, 8), extraction=True,
    ),
    _material(
        "PPS-CF", "PPS", "carbon", (310, 350), (110, 140), (80, 110, 140), ("sheet",),
        _rows((120, 5)), None, soak=25, release=70, cap=1.0, anneal=(130, 6), extraction=True, corrosive=True,
    ),
    _material(
        "PPSU", "PPSU", None, (340, 390), (130, 165), (120, 150, 190), ("sheet",),
        _rows((150, 5), (120, 8)), 720, soak=30, release=80, cap=0.7, anneal=(205, 7), extraction=True,
    ),
    _material(
        "PEI", "PEI", None, (355, 390), (120, 160), (150, 180, 200), ("sheet",),
        _rows((150, 6)), 600, soak=40, release=80, cap=0.7, anneal=(200, 8), extraction=True,
    ),
    _material(
        "PEKK", "PEKK", None, (340, 380), (110, 150), (90, 120, 160), ("sheet",),
        _rows((150, 4), (120, 7), (120, 5, True)), 1440, soak=30, release=70, cap=0.8, anneal=(200, 10),
        extraction=True,
    ),
    _material(
        "PEEK", "PEEK", None, (370, 450), (120, 170), (130, 190, 230), ("sheet",),
        _rows((150, 4), (120, 8)), 1440, soak=40, release=80, cap=0.7, anneal=(200, 10), extraction=True,
    ),
    _material(
        "PEEK-CF", "PEEK", "carbon", (380, 450), (120, 170), (100, 160, 230), ("sheet",),
        _rows((150, 5), (120, 8)), 1440, soak=35, release=80, cap=1.0, anneal=(200, 10), extraction=True,
    ),
    _material(
        "SUP", "soluble support", None, (200, 240), (40, 90), (15, 40, 60), (),
        _rows((65, 4), (60, 6), (50, 5, True)), 600, soak=0, release=45,
    ),
)  # fmt: skip

#: A material of the same polymer on thicker filament, for machines of that bore.
PETG_THICK = replace(MATERIALS[1], id="PETG-2.85", filament_mm=2.85)

#: The same rows by id, the thick one among them.
BY_ID: dict[str, Material] = {each.id: each for each in (*MATERIALS, PETG_THICK)}

#: Minutes of purge where the shop has timed them (estimates): dark or filled into clear is slow, the
#: other way is quick; a hot polymer's rest chars in a cooler successor.
PURGES: tuple[Purge, ...] = tuple(
    Purge(source, target, minutes)
    for source, target, minutes in (
        ("ASA", "PLA", 12),
        ("ASA", "PETG", 12),
        ("TPU", "PLA", 14),
        ("PLA", "PETG", 8),
        ("PETG", "PLA", 9),
        ("PA12-CF", "PC", 28),
        ("PA12-CF", "ASA", 25),
        ("PC", "PA12-CF", 9),
        ("PA6-GF", "PA12-CF", 12),
        ("PA6-GF", "PC", 25),
        ("PPS-CF", "PPSU", 40),
        ("PPS-CF", "PEI", 40),
        ("PPS-CF", "PC", 45),
        ("PEEK-CF", "PEEK", 45),
        ("PEEK-CF", "PEI", 45),
        ("PEEK-CF", "PEKK", 35),
        ("PEEK", "PEEK-CF", 8),
        ("PEEK", "PEI", 20),
        ("PEI", "PEEK", 15),
        ("PPSU", "PEI", 12),
        ("PEKK", "PEEK", 15),
    )
)
