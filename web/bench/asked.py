"""What somebody asks at the bench: fields read with one message each, and the answer."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from markupsafe import Markup

from scheduler.model import DryingRow
from scheduler.physics.moisture.air import Air
from scheduler.physics.moisture.asking import Answer, ask, best, temperatures
from scheduler.physics.moisture.coil import BARE, STILL, WOUND, Around
from scheduler.physics.moisture.curves import drying_chart, open_chart
from scheduler.physics.moisture.drying import VACUUM_PA, DryerAir, must_stand
from scheduler.physics.moisture.open_time import DRIED_SHARE, OpenTime, exposed, open_time
from scheduler.physics.moisture.polymer import Known, Polymer
from scheduler.physics.moisture.polymers import known_polymer
from scheduler.physics.moisture.strand import Strand
from scheduler.physics.moisture.table import SOURCES
from scheduler.physics.nonsense import Nonsense, within

SURE = {"S": "measured or stated", "P": "common practice", "E": "an estimate"}
#: What the form shows before anybody has typed: name, label, unit, first value.
FIELDS: tuple[tuple[str, str, str, str], ...] = (
    ("filament", "Filament diameter", "mm", "1.75"),
    ("body", "Spool's body stands", "°C", ""),
    ("humidity", "Humidity of the room", "%", "50"),
    ("room", "Temperature of the room", "°C", "22"),
    ("shelf", "Hours on the shelf since it was dry", "h", ""),
    ("limit", "Most water to print at", "%", ""),
    ("temp", "Only at", "°C", ""),
    ("dew", "Dew point of the dryer's air", "°C", ""),
    ("recipe_c", "A recipe that you trust", "°C", ""),
    ("recipe_h", "and its hours", "h", ""),
)
HINTS = {
    "body": "empty: it stands anything",
    "shelf": "empty: until it changed no more",
    "limit": "empty: the library's",
    "temp": "empty: a table of temperatures",
    "dew": "empty: it breathes the room's air",
    "recipe_c": "its reserve is kept",
}


@dataclass(frozen=True, slots=True)
class Constant:
    """One constant of the answer: name, figure with unit, range, sureness, source numbers."""

    name: str
    figure: str
    span: str
    sure: str
    sources: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Told:
    """The answer to a question at the bench."""

    name: str
    polymer: Polymer
    start_pct: float
    limit_pct: float
    answers: list[Answer]
    best: Answer | None
    instead: str
    open: OpenTime | None
    drying: Markup
    opening: Markup | None
    constants: list[Constant]
    sources: dict[int, str]


@dataclass(slots=True)
class Asked:
    """Texts of the form, messages by field, and the answer if there is one."""

    texts: dict[str, str]
    wrong: dict[str, list[str]] = field(default_factory=dict)
    told: Told | None = None
    message: str = ""


def first_texts() -> dict[str, str]:
    """The form as it comes."""
    return {"polymer": "PA6-CF", "vacuum": "", **{name: value for name, _, _, value in FIELDS}}


def read(args: Mapping[str, str]) -> Asked:
    """Answer what a form asks; without a polymer in it, nothing is asked yet."""
    if not args.get("polymer"):
        return Asked(first_texts())
    asked = Asked({**dict.fromkeys(first_texts(), ""), **{name: text.strip() for name, text in args.items()}})
    figures: dict[str, float | None] = {}
    for name, label, unit, _ in FIELDS:
        text = asked.texts.get(name, "").replace(",", ".").replace("−", "-")
        try:
            figures[name] = float(text) if text else None
            if figures[name] is not None and not math.isfinite(float(text)):
                raise ValueError
        except ValueError:
            asked.wrong[name] = [f"{label}: {text!r} is no number of {unit}"]
    if not asked.wrong:
        try:
            asked.told = _answer(asked.texts["polymer"], figures, asked.texts.get("vacuum") == "yes")
        except Nonsense as nonsense:
            asked.message = str(nonsense)
    return asked


def _answer(name: str, given: Mapping[str, float | None], vacuum: bool) -> Told:
    polymer = known_polymer(name)
    filament_mm = _or(given["filament"], 1.75)
    room = Air.of_room(_or(given["room"], 22.0), _or(given["humidity"], 50.0))
    limit = within("the moisture to print at", _or(given["limit"], polymer.limit.value), 1e-4, 50, "%")
    if given["shelf"] is None:
        spool = Strand.even(filament_mm, polymer.isotherm.moisture_pct(room.humidity, room.temp_c))
    else:
        hours = within("the hours on the shelf", given["shelf"], 0, 100_000, "h")
        spool = exposed(polymer, Strand.even(filament_mm, limit * DRIED_SHARE), room, hours * 60)
    rows: tuple[DryingRow, ...] = ()
    if given["recipe_c"] is not None and given["recipe_h"] is not None:
        within("the recipe's hours", given["recipe_h"], 0.1, 500, "h")
        within("the recipe's temperature", given["recipe_c"], 20, 300, "°C")
        rows = (DryingRow(given["recipe_c"], given["recipe_h"], vacuum),)
    body_c, temp_c = given["body"], given["temp"]
    if temp_c is not None:
        within("the dryer's temperature", temp_c, room.temp_c, 300, "°C")
        must_stand(temp_c, body_c)
    dryer = DryerAir(dew_point_c=given["dew"], pressure_pa=VACUUM_PA)
    temps = temperatures(polymer, rows, body_c) if temp_c is None else [temp_c]
    answers = ask(polymer, spool, temps, rows, limit, dryer, vacuum, room)
    found = best(answers)
    shown = found or answers[-1]
    around = dryer.around(room, shown.temp_c, vacuum)
    chart = drying_chart(
        polymer,
        spool,
        around,
        max(shown.hours or 24.0, 1.0) * 1.25,
        shown.goal_pct,
        f"{name} at {shown.temp_c:g} °C",
    )
    dry_pct = limit * DRIED_SHARE
    opened = open_time(polymer, filament_mm, room, limit, dry_pct)
    long_h = min(max((opened.spool_min or 2880) * 1.6, 60), 14 * 1440) / 60
    opening = open_chart(
        polymer,
        Strand.even(filament_mm, dry_pct),
        Around(room, WOUND, STILL),
        Around(room, BARE, STILL),
        long_h,
        limit,
        f"{name} in the room",
    )
    instead = ""
    if rows and found is not None and body_c is not None and body_c < rows[0].temp_c:
        instead = (
            f" instead of {rows[0].hours:g} h at {rows[0].temp_c:g} °C:"
            f" the spool's body stands only {body_c:g} °C"
        )
    constants = _constants(polymer)
    used = sorted({number for constant in constants for number in constant.sources})
    return Told(
        name,
        polymer,
        spool.mean_pct,
        limit,
        answers,
        found,
        instead,
        opened,
        # Our own drawing, its texts escaped where it is made.
        Markup(chart.for_page()),
        Markup(opening.for_page()),
        constants,
        {number: SOURCES[number] for number in used},
    )


def _or(given: float | None, otherwise: float) -> float:
    return otherwise if given is None else given


def _constants(polymer: Polymer) -> list[Constant]:
    rows: tuple[tuple[str, Known, str], ...] = (
        ("Diffusivity of water at 23 °C", polymer.diffusivity, "m²/s"),
        ("Its activation energy", polymer.activation, "kJ/mol"),
        ("Water held at 100 % humidity", polymer.saturated, "%"),
        ("Exponent of the isotherm", polymer.exponent, ""),
        ("Most water to print at", polymer.limit, "%"),
    )
    return [
        Constant(
            name,
            f"{known.value:.3g} {unit}".strip(),
            f"{known.least:.2g} to {known.most:.2g}",
            SURE[known.sure],
            known.sources,
        )
        for name, known, unit in rows
    ]
