"""Published drying recipes, and how the model judges a recipe."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from scheduler.model import DryingRow
from scheduler.physics.moisture.air import Air
from scheduler.physics.moisture.coil import BARE, WOUND, Coil
from scheduler.physics.moisture.drying import REFERENCE_PCT, DryerAir, end_of_run, run_to
from scheduler.physics.moisture.polymer import Polymer
from scheduler.physics.moisture.polymers import known_polymer
from scheduler.physics.moisture.strand import Strand

#: What a desiccant dryer of a moulding shop keeps, °C.
DESICCANT = DryerAir(dew_point_c=-30.0)
ROOM_C = 22.0


@dataclass(frozen=True, slots=True)
class Recipe:
    """A recipe that open guides publish: for spools of filament, or for pellets in a moulder's dryer."""

    polymer: str
    temp_c: float
    hours: float
    for_what: Literal["filament", "pellets"]
    vacuum: bool = False


#: The middle of what open guides say (moulding guides and filament practice; see MATERIALS.md).
PUBLISHED: tuple[Recipe, ...] = (
    Recipe("PLA", 55, 6, "filament"),
    Recipe("PETG", 65, 6, "filament"),
    Recipe("TPU", 65, 8, "filament"),
    Recipe("TPU", 95, 4, "pellets"),
    Recipe("ASA", 85, 4, "filament"),
    Recipe("ASA", 85, 3, "pellets"),
    Recipe("PC", 110, 6, "filament"),
    Recipe("PC", 121, 4, "pellets"),
    Recipe("PA12", 90, 6, "filament"),
    Recipe("PA6", 100, 10, "filament"),
    Recipe("PA6", 80, 4, "pellets", True),
    Recipe("PPS", 125, 4, "filament"),
    Recipe("PPS", 160, 3, "pellets"),
    Recipe("PPSU", 150, 4, "pellets"),
    Recipe("PPSU", 135, 5, "pellets"),
    Recipe("PEI", 145, 6, "filament"),
    Recipe("PEI", 149, 6, "pellets"),
    Recipe("PEKK", 120, 6, "filament"),
    Recipe("PEEK", 120, 8, "filament"),
    Recipe("PEEK", 150, 4, "filament"),
    Recipe("soluble support", 60, 6, "filament"),
)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the model says a recipe does.

    Parameters
    ----------
    start_pct, end_pct : float
        Moisture before (a spool that lay at 50 %) and after, %.
    quick_pct, slow_pct : float
        After, with the fastest and the slowest diffusivity of the polymer's range.
    needed_h : float or None
        Hours to the limit; ``None`` where this air never gets there.
    misses : float
        End over limit; at most 1 where the recipe reaches it.
    """

    start_pct: float
    end_pct: float
    quick_pct: float
    slow_pct: float
    limit_pct: float
    needed_h: float | None
    misses: float


def judge(
    polymer: Polymer,
    filament_mm: float,
    row: DryingRow,
    dryer: DryerAir,
    room_c: float = ROOM_C,
    humidity_pct: float = REFERENCE_PCT,
    coil: Coil = WOUND,
) -> Verdict:
    """What a recipe does to a spool that lay at ``humidity_pct``."""
    room = Air.of_room(room_c, humidity_pct)
    start = polymer.isotherm.moisture_pct(room.humidity, room_c)
    spool = Strand.even(filament_mm, start)
    around = dryer.around(room, row.temp_c, row.vacuum, coil)
    ends = [
        end_of_run(each, spool, around, row.hours).mean_pct
        for each in (polymer, polymer.faster(), polymer.slower())
    ]
    limit = polymer.limit.value
    needed = run_to(polymer, spool, around, limit).hours
    return Verdict(start, ends[0], ends[1], ends[2], limit, needed, ends[0] / limit)


def judge_published(recipes: Iterable[Recipe] = PUBLISHED) -> list[tuple[Recipe, Verdict, Verdict]]:
    """Each recipe in the room's air and in a desiccant dryer's."""
    judged = []
    for recipe in recipes:
        polymer, row = known_polymer(recipe.polymer), DryingRow(recipe.temp_c, recipe.hours, recipe.vacuum)
        # Pellets lie loose in a stream of air and are about 2.5 mm thick.
        thick_mm, coil = (1.75, WOUND) if recipe.for_what == "filament" else (2.5, BARE)
        room, desiccant = (judge(polymer, thick_mm, row, air, coil=coil) for air in (DryerAir(), DESICCANT))
        judged.append((recipe, room, desiccant))
    return judged
