"""The demo shop's shelf of forty-five spools, as its book says at the start of the plan."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from demo_fleet.calendar import local_instant, working_day
from scheduler.model import DryingRow, Spool

#: What spool bodies withstand, °C: softening less a margin of 15 °C (see MATERIALS.md).
BODIES: dict[str, float] = {
    "polystyrene": 80,
    "abs": 90,
    "cardboard": 100,
    "polycarbonate": 130,
    "metal": 400,
}


@dataclass(frozen=True, slots=True)
class _Row:
    """One spool; ``exposed`` is ``None`` for a spool that is not dried."""

    name: str
    lot: str
    grams: float
    body: str
    exposed: int | None = None
    certs: tuple[str, ...] = ()
    arrives: tuple[int, int] | None = None
    own: tuple[tuple[float, float], ...] | None = None


_SHELF: tuple[_Row, ...] = (
    _Row("PLA-1", "A411", 880, "cardboard", 30),
    _Row("PLA-2", "A411", 1000, "cardboard"),
    _Row("PLA-3", "A415", 1000, "polystyrene"),
    _Row("PLA-4", "A415", 2300, "cardboard"),
    _Row("PETG-1", "B207", 940, "polystyrene", 0),
    _Row("PETG-2", "B207", 1000, "polystyrene"),
    _Row("PETG-3", "B212", 2500, "cardboard", 120),
    _Row("PETG-4", "B212", 2500, "cardboard"),
    _Row("PETG-5", "B212", 1000, "polystyrene"),
    _Row("PETG-6", "B220", 2500, "cardboard", arrives=(2, 9)),
    _Row("TPU-1", "C031", 760, "abs", 45),
    _Row("TPU-2", "C031", 1000, "abs"),
    _Row("TPU-3", "C034", 1000, "polystyrene"),
    _Row("ASA-1", "D118", 900, "abs", 200),
    _Row("ASA-2", "D118", 1000, "abs"),
    _Row("ASA-3", "D121", 1000, "polystyrene"),
    _Row("ASA-4", "D121", 1000, "abs", arrives=(1, 10)),
    _Row("PC-1", "E055", 970, "polycarbonate", 60),
    _Row("PC-2", "E055", 1000, "polycarbonate"),
    # Bought cheaply: no dryer may dry PC on this body, so it waits to be respooled.
    _Row("PC-3", "E060", 1000, "polystyrene"),
    _Row("PC-4", "E061", 1000, "cardboard"),
    _Row("PA12-CF-1", "F300", 820, "polycarbonate", 90),
    _Row("PA12-CF-2", "F300", 1000, "polycarbonate"),
    _Row("PA12-CF-3", "F302", 1000, "abs"),
    _Row("PA12-CF-4", "F302", 1000, "abs"),
    _Row("PA12-CF-5", "F305", 750, "polystyrene", arrives=(3, 9)),
    _Row("PA6-GF-1", "G140", 900, "polycarbonate", 20),
    _Row("PA6-GF-2", "G144", 1000, "polycarbonate"),
    # Longer and cooler than the material's recipe, for its body's sake: the shop's own trial.
    _Row("PA6-GF-3", "G144", 1000, "polystyrene", own=((75, 18),)),
    _Row("PPS-CF-1", "H018", 1250, "metal", 0, ("lot-report",)),
    _Row("PPS-CF-2", "H021", 1000, "metal"),
    _Row("PPSU-1", "J077", 1500, "metal", certs=("food", "lot-report")),
    _Row("PPSU-2", "J079", 500, "metal", 30, ("iso10993", "lot-report")),
    _Row("PPSU-3", "J080", 1000, "polycarbonate"),
    _Row("PPSU-4", "J080", 1000, "abs", 0),
    _Row("PEI-1", "K009", 1500, "metal", 25, ("lot-report",)),
    _Row("PEI-2", "K012", 1000, "metal"),
    _Row("PEI-3", "K012", 1000, "metal", arrives=(1, 9)),
    _Row("PEKK-1", "L003", 1000, "metal", 15, ("lot-report",)),
    _Row("PEKK-2", "L004", 1000, "metal"),
    _Row("PEEK-1", "M060", 1000, "metal", 0, ("lot-report",)),
    _Row("PEEK-CF-1", "N012", 1000, "metal", 0),
    _Row("PEEK-CF-2", "N012", 1000, "metal"),
    _Row("SUP-1", "S500", 500, "polystyrene", 10),
    _Row("SUP-2", "S502", 750, "polystyrene"),
)


def spools(zone: ZoneInfo, today: date) -> tuple[Spool, ...]:
    """The shelf at 06:00 of ``today``."""
    long_here = local_instant(zone, today, 0)

    def arrival(when: tuple[int, int] | None) -> datetime:
        return long_here if when is None else local_instant(zone, working_day(today, when[0]), when[1])

    return tuple(
        Spool(
            id=row.name,
            material=row.name.rpartition("-")[0],
            lot=row.lot,
            grams=row.grams,
            body_max_c=BODIES[row.body],
            certs=row.certs,
            available_from=arrival(row.arrives),
            dried=row.exposed is not None,
            exposed_min=row.exposed or 0,
            drying=None
            if row.own is None
            else tuple(DryingRow(temp, hours, False) for temp, hours in row.own),
        )
        for row in _SHELF
    )
