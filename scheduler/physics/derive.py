"""From humidity and moisture to the figures that a scenario already has: rows, first runs, open times.

The planner is told nothing new. A material gets drying rows at cooler temperatures, so that a spool
whose body stands little gets a longer run in place of a refusal; a dried spool that stood open in dry
storage gets its own shorter rows; an open time shrinks on a humid day. A shop's own row always stays
as it is and beats the model: rows are only added, and only where none of the shop's own can be used.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from scheduler.model import Dryer, DryingRow, Material, Scenario, Spool
from scheduler.physics.conduction import SUBSTANCES, slowest_cooling, soak, substance
from scheduler.physics.moisture.air import Air
from scheduler.physics.moisture.drying import (
    LONGEST_H,
    DryerAir,
    anchor,
    row_hours,
    run_to,
)
from scheduler.physics.moisture.open_time import DRIED_SHARE, at_humidity, exposed
from scheduler.physics.moisture.polymer import Polymer
from scheduler.physics.moisture.polymers import polymer_of
from scheduler.physics.moisture.strand import Strand
from scheduler.physics.nonsense import within

#: Rows lie on a grid of so many °C.
GRID_C = 5
#: A plate this near to its chamber is hot, K.
WITHIN_K = 5.0
#: No material asks for a longer shortest run, hours: two weeks.
LONGEST_FLOOR_H = 336.0
#: A spool that stood open is taken to stand a day longer before its run: nobody knows when it will be.
DELAY_MIN = 1440


@dataclass(frozen=True, slots=True)
class MaterialLimits:
    """A shop's own figures for a material; ``None`` where the library's hold.

    ``floor_h`` is the shortest run that is ever asked for, whatever the model says. ``thickest_mm`` is the
    thickest section that is printed of it: then the chamber falls no faster than lets its middle and skin
    stay within ``apart_k``. ``plate_mm`` is the glass that it is printed on, for a soak where the material
    states none.
    """

    limit_pct: float | None = None
    floor_h: float = 2.0
    thickest_mm: float | None = None
    apart_k: float = 20.0
    plate_mm: float | None = None

    def __post_init__(self) -> None:
        for name, value in (("the thickest section", self.thickest_mm), ("the plate", self.plate_mm)):
            if value is not None:
                within(name, value, 0.2, 500, "mm")
        within("the difference allowed", self.apart_k, 0.5, 200, "K")
        if self.limit_pct is not None:
            within("the moisture to print at", self.limit_pct, 1e-4, 20, "%")
        within("the shortest run", self.floor_h, 0, LONGEST_FLOOR_H, "h")


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the model is told about a shop beyond its scenario.

    Parameters
    ----------
    humidity_pct : float
        Relative humidity to plan with, %.
    dryers : mapping of str to DryerAir
        By dryer; one that is not named breathes the room's air, with a fan.
    limits : mapping of str to MaterialLimits
        By material.
    longer_open : bool
        True if dry days may lengthen a stated open time, not only humid days shorten it.
    """

    humidity_pct: float
    dryers: Mapping[str, DryerAir] = field(default_factory=dict)
    limits: Mapping[str, MaterialLimits] = field(default_factory=dict)
    longer_open: bool = False

    def __post_init__(self) -> None:
        within("the relative humidity", self.humidity_pct, 0, 100, "%")

    def dryer(self, id: str) -> DryerAir:
        """What is known of a dryer's air."""
        return self.dryers.get(id, DryerAir())

    def of(self, material: str) -> MaterialLimits:
        """The shop's limits for a material."""
        return self.limits.get(material, MaterialLimits())


@dataclass(frozen=True, slots=True)
class Note:
    """One thing that the model changed, or could not: what it is about, and a sentence with figures."""

    kind: str
    subject: str
    text: str


@dataclass(frozen=True, slots=True)
class Derived:
    """A scenario with the model's figures in it, and what was changed."""

    scenario: Scenario
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """A derived drying row with what led to it.

    ``row`` is ``None`` where there is none, and ``why`` says why; ``misses`` is what the recipe that it is
    anchored to leaves, as a multiple of the limit.
    """

    temp_c: float
    vacuum: bool
    row: DryingRow | None
    model_h: float | None
    reserve: float
    goal_pct: float
    misses: float
    why: str


def derive(scenario: Scenario, around: Surroundings) -> Derived:
    """The same shop with the model's rows, first runs and open times."""
    notes: list[Note] = []
    materials = []
    for given in scenario.materials:
        material = _with_heat(scenario, given, around, notes)
        polymer = polymer_of(material)
        if polymer is None or not material.drying:
            materials.append(material)
            continue
        derived = _with_rows(scenario, material, polymer, around, notes)
        materials.append(_with_open_time(scenario, derived, polymer, around, notes))
    by_id = {material.id: material for material in scenario.materials}
    # Most spools stood as long as their neighbours, and most dryers' air is alike.
    known: dict[object, Row] = {}
    spools = [
        _with_first_run(scenario, spool, by_id[spool.material], around, notes, known)
        for spool in scenario.spools
    ]
    changed = replace(scenario, materials=tuple(materials), spools=tuple(spools))
    return Derived(changed, tuple(notes))


def _with_heat(scenario: Scenario, material: Material, around: Surroundings, notes: list[Note]) -> Material:
    """A soak where the material states none, and a slower cap on cooling where a thick part asks for it."""
    own = around.of(material.id)
    changed = material
    hot = material.chamber_set_c - scenario.site.ambient_c
    if own.plate_mm is not None and material.soak_min == 0 and hot > WITHIN_K:
        room_c = scenario.site.ambient_c
        plate = soak(
            substance("glass"), own.plate_mm, room_c, material.chamber_set_c, WITHIN_K, both_faces=False
        )
        changed = replace(changed, soak_min=plate.minutes)
        text = f"{material.id}: {plate.minutes} min soak for {own.plate_mm:g} mm of glass; it states none"
        notes.append(Note("soak", material.id, text))
    if own.thickest_mm is not None and material.polymer in SUBSTANCES:
        rate = slowest_cooling(SUBSTANCES[material.polymer], own.thickest_mm, own.apart_k)
        # Two figures after the point, downwards: a cap must not be rounded up.
        rate = max(0.01, int(rate * 100) / 100)
        if material.max_cool_c_per_min is None or rate < material.max_cool_c_per_min:
            stated = material.max_cool_c_per_min
            instead = "no cap of its own" if stated is None else f"its own {stated:g} °C/min"
            changed = replace(changed, max_cool_c_per_min=rate)
            text = (
                f"{material.id}: cooling at {rate:g} °C/min for {own.thickest_mm:g} mm instead of {instead}"
            )
            notes.append(Note("cooling", material.id, text))
    return changed


def row_at(
    material: Material,
    polymer: Polymer,
    spool: Strand,
    temp_c: float,
    vacuum: bool,
    dryer: DryerAir,
    room_c: float,
    around: Surroundings,
) -> Row:
    """The run that brings ``spool`` to the shop's dryness at ``temp_c``."""
    limits = around.of(material.id)
    limit = polymer.limit.value if limits.limit_pct is None else limits.limit_pct
    known = anchor(polymer, material.filament_mm, material.drying, temp_c, vacuum, limit, dryer, room_c)
    room = Air.of_room(room_c, around.humidity_pct)
    found = run_to(polymer, spool, dryer.around(room, temp_c, vacuum), known.goal_pct)
    if found.hours is None:
        why = (
            f"at {temp_c:g} °C the dryer's air keeps {found.rests_pct:.2g} % in it,"
            f" more than the {known.goal_pct:.2g} % to reach"
        )
        return Row(temp_c, vacuum, None, None, known.reserve, known.goal_pct, known.misses, why)
    hours = row_hours(max(limits.floor_h, found.hours * known.reserve))
    if hours > LONGEST_H:
        why = f"at {temp_c:g} °C it would take {hours:g} h, longer than the {LONGEST_H:g} h that a run may"
        return Row(temp_c, vacuum, None, found.hours, known.reserve, known.goal_pct, known.misses, why)
    row = DryingRow(temp_c, hours, vacuum)
    return Row(temp_c, vacuum, row, found.hours, known.reserve, known.goal_pct, known.misses, "")


def _with_rows(
    scenario: Scenario, material: Material, polymer: Polymer, around: Surroundings, notes: list[Note]
) -> Material:
    hottest = max(row.temp_c for row in material.drying)
    room_c = scenario.site.ambient_c
    # Spools arrive as wet as a week in this room, or as the recipes expect, whichever is more.
    humidity = max(around.humidity_pct, 50.0) / 100
    wet = Strand.even(material.filament_mm, polymer.isotherm.moisture_pct(humidity, room_c))
    wanted: dict[tuple[float, bool], tuple[list[Dryer], float]] = {}
    bodies = {
        spool.body_max_c
        for spool in scenario.spools
        if spool.material == material.id and spool.drying is None
    }
    for body_c in sorted(bodies):
        for dryer in scenario.dryers:
            if any(_can(dryer, row, body_c) for row in material.drying):
                continue
            temp_c = _hottest(dryer, min(body_c, hottest))
            if temp_c is not None:
                dryers, lowest = wanted.setdefault((temp_c, dryer.vacuum), ([], body_c))
                dryers.append(dryer)
                wanted[temp_c, dryer.vacuum] = (dryers, min(lowest, body_c))
    rows = []
    for (temp_c, vacuum), (dryers, body_c) in sorted(wanted.items()):
        found = [
            row_at(material, polymer, wet, temp_c, vacuum, around.dryer(dryer.id), room_c, around)
            for dryer in _alike(dryers, around)
        ]
        slowest = max(found, key=lambda each: each.row.hours if each.row else float("inf"))
        names = ", ".join(sorted({dryer.id for dryer in dryers}))
        if slowest.row is None:
            notes.append(Note("no row", material.id, f"{material.id} in {names}: {slowest.why}"))
            continue
        rows.append(slowest.row)
        usual = min(material.drying, key=lambda row: row.hours)
        notes.append(
            Note(
                "row",
                material.id,
                f"{material.id}: {slowest.row.hours:g} h at {temp_c:g} °C{' under vacuum' if vacuum else ''}"
                f" in {names} instead of {usual.hours:g} h at {usual.temp_c:g} °C:"
                f" {_because(dryers, body_c, usual)}",
            )
        )
    return replace(material, drying=(*material.drying, *rows)) if rows else material


def _alike(dryers: list[Dryer], around: Surroundings) -> list[Dryer]:
    """One dryer of each air: the others would dry a spool in the same time."""
    return list({around.dryer(dryer.id): dryer for dryer in dryers}.values())


def _because(dryers: list[Dryer], body_c: float, usual: DryingRow) -> str:
    if body_c < usual.temp_c:
        return f"a spool's body stands only {body_c:g} °C"
    return f"{dryers[0].id} stands at {dryers[0].fixed_c or dryers[0].max_c:g} °C"


def _can(dryer: Dryer, row: DryingRow, body_c: float) -> bool:
    if row.temp_c > body_c or row.temp_c > dryer.max_c or (row.vacuum and not dryer.vacuum):
        return False
    return dryer.fixed_c is None or dryer.fixed_c == row.temp_c


def _hottest(dryer: Dryer, most_c: float) -> float | None:
    """The hottest setpoint on the grid that a dryer has under ``most_c``."""
    if dryer.fixed_c is not None:
        return dryer.fixed_c if dryer.fixed_c <= most_c else None
    temp_c = min(dryer.max_c, most_c) // GRID_C * GRID_C
    return temp_c if temp_c >= 40 else None


def _with_open_time(
    scenario: Scenario, material: Material, polymer: Polymer, around: Surroundings, notes: list[Note]
) -> Material:
    stated = material.open_time_min
    if stated is None:
        return material
    own = around.of(material.id).limit_pct
    limit = polymer.limit.value if own is None else own
    room_c = scenario.site.ambient_c
    today = at_humidity(polymer, material.filament_mm, stated, room_c, around.humidity_pct, limit)
    if today == stated or (today > stated and not around.longer_open):
        return material
    text = (
        f"{material.id}: {today} min open at {around.humidity_pct:g} % humidity"
        f" instead of {stated} min at 50 %"
    )
    notes.append(Note("open time", material.id, text))
    return replace(material, open_time_min=today)


def _with_first_run(
    scenario: Scenario,
    spool: Spool,
    material: Material,
    around: Surroundings,
    notes: list[Note],
    known: dict[object, Row],
) -> Spool:
    polymer = polymer_of(material)
    if (
        polymer is None
        or not material.drying
        or spool.drying is not None
        or not spool.dried
        or not scenario.site.dry_storage
    ):
        return spool
    own = around.of(material.id)
    limit = polymer.limit.value if own.limit_pct is None else own.limit_pct
    room_c = scenario.site.ambient_c
    room = Air.of_room(room_c, max(around.humidity_pct, 50.0))
    dry = Strand.even(material.filament_mm, limit * DRIED_SHARE)
    stood = max(spool.exposed_min, material.open_time_min or 0) + DELAY_MIN
    damp = exposed(polymer, dry, room, stood)
    rows, shorter = [], []
    for row in material.drying:
        found = []
        dryers = [dryer for dryer in scenario.dryers if _can(dryer, row, spool.body_max_c)]
        for air in {around.dryer(dryer.id): None for dryer in dryers}:
            key = (material.id, stood, row.temp_c, row.vacuum, air)
            if key not in known:
                known[key] = row_at(material, polymer, damp, row.temp_c, row.vacuum, air, room_c, around)
            found.append(known[key])
        # Where the model can't follow the recipe itself, it has no business to shorten it.
        hours = max(
            (each.row.hours if each.row and each.misses <= 1 else row.hours for each in found),
            default=row.hours,
        )
        rows.append(replace(row, hours=min(row.hours, hours)))
        if hours < row.hours:
            shorter.append(f"{hours:g} h instead of {row.hours:g} h at {row.temp_c:g} °C")
    if not shorter:
        return spool
    text = f"{spool.id}: {', '.join(shorter)}: it is only damp ({damp.mean_pct:.2g} % at the most)"
    notes.append(Note("first run", spool.id, text))
    return replace(spool, drying=tuple(rows))
