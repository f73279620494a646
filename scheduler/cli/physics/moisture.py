"""`soakline physics dry`, `open`, `recipes` and `weigh`."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.cli.files import read_file
from scheduler.cli.physics import options
from scheduler.cli.physics.words import DECIDE, constants, draw, hours, lasts, say, table

if TYPE_CHECKING:
    from scheduler.model import DryingRow
    from scheduler.physics.moisture.asking import Answer
    from scheduler.physics.moisture.drying import DryerAir
    from scheduler.physics.moisture.polymer import Polymer
    from scheduler.physics.moisture.weighing import Weighing

RECIPE = re.compile(r"(\d+(?:\.\d+)?)\s*[:/]\s*(\d+(?:\.\d+)?)(v?)\Z")


@click.command()
@click.argument("polymer_name", metavar="POLYMER")
@options.filament
@options.room
@click.option(
    "--shelf", "shelf_h", type=float,
    help="Hours that a dry spool lay in the room; else it lay there until it changed no more.",
)  # fmt: skip
@click.option("--temp", "temp_c", type=float, help="Of the dryer, °C; else a table of temperatures.")
@click.option("--body", "body_c", type=float, help="Hottest that the spool's body stands, °C.")
@options.dryer
@click.option(
    "--recipe", "recipes_", multiple=True, metavar="T:H",
    help="A recipe that you trust, °C:hours, with a v behind it for vacuum; its reserve is kept.",
)  # fmt: skip
@options.svg
def dry(
    polymer_name: str,
    filament_mm: float,
    limit_pct: float | None,
    humidity: float,
    room_c: float,
    shelf_h: float | None,
    temp_c: float | None,
    body_c: float | None,
    dew_point_c: float | None,
    vacuum_pa: float | None,
    coil_factor: float,
    recipes_: tuple[str, ...],
    svg: Path | None,
) -> None:
    """How long a spool of POLYMER (PC, PA6-CF, PEEK …) must dry, and how hot it may."""
    from scheduler.physics.moisture.air import Air
    from scheduler.physics.moisture.asking import ask, best, temperatures
    from scheduler.physics.moisture.curves import drying_chart
    from scheduler.physics.moisture.drying import must_stand
    from scheduler.physics.moisture.open_time import DRIED_SHARE, exposed
    from scheduler.physics.moisture.polymers import known_polymer
    from scheduler.physics.moisture.strand import Strand
    from scheduler.physics.nonsense import at_least, kelvin, within

    polymer = known_polymer(polymer_name)
    limit = options.positive_limit(limit_pct, polymer.limit.value)
    room = Air.of_room(room_c, humidity)
    if shelf_h is None:
        spool = Strand.even(filament_mm, polymer.isotherm.moisture_pct(room.humidity, room_c))
        lay = f"as wet as the room at {humidity:g} % makes it"
    else:
        at_least("the hours on the shelf", shelf_h, 0, "h")
        spool = exposed(polymer, Strand.even(filament_mm, limit * DRIED_SHARE), room, shelf_h * 60)
        lay = f"dry, then {shelf_h:g} h on the shelf at {humidity:g} %"
    if body_c is not None:
        kelvin("what the spool's body stands", body_c)
    if temp_c is not None:
        within("the dryer's temperature", temp_c, room_c, 300, "°C")
        must_stand(temp_c, body_c)
    dryer, vacuum = _dryer(dew_point_c, vacuum_pa, coil_factor), vacuum_pa is not None
    rows = tuple(_row(text) for text in recipes_)
    say(
        [
            f"{polymer_name}, {filament_mm:g} mm, {lay}: {spool.mean_pct:.3g} % water;"
            f" to print at {limit:.3g} % or less"
        ]
    )
    temps = [temp_c] if temp_c is not None else temperatures(polymer, rows, body_c)
    answers = ask(polymer, spool, temps, rows, limit, dryer, vacuum, room)
    head = ("°C", "model", "from … to", "with reserve", "its air keeps", "")
    say(table([head, *(_line(answer) for answer in answers)]))
    found = best(answers)
    if found is None:
        say(
            [
                f"No temperature here brings it to {limit:.3g} %:"
                " drier air (a desiccant, a vacuum) or hotter would."
            ]
        )
    else:
        usual = min(rows, key=lambda row: row.hours, default=None)
        instead = f" instead of {usual.hours:g} h at {usual.temp_c:g} °C" if usual else ""
        why = f": the spool's body stands only {body_c:g} °C" if body_c is not None and usual else ""
        say([f"{found.hours:g} h at {found.temp_c:g} °C{instead}{why}."])
    say(["", *constants(polymer), *_cautions(polymer, temps[-1]), DECIDE])
    if svg is not None:
        shown = found or answers[-1]
        hot, long, goal = shown.temp_c, shown.hours or 24.0, shown.goal_pct
        title = f"{polymer_name} {filament_mm:g} mm at {hot:g} °C"
        around = dryer.around(room, hot, vacuum)
        draw(drying_chart(polymer, spool, around, max(long, 1.0) * 1.25, goal, title), svg)


def _line(answer: Answer) -> tuple[str, ...]:
    run = answer.run
    keeps = f"{run.rests_pct:.2g} %"
    if answer.hours is None:
        why = f"its air never lets it under {answer.goal_pct:.2g} %"
        return (f"{answer.temp_c:g}", "never", "", "", keeps, why)
    spread = f"{hours(run.quick_h)} … {hours(run.slow_h)}"
    return (f"{answer.temp_c:g}", hours(run.hours), spread, f"{answer.hours:g} h", keeps, "")


def _dryer(dew_point_c: float | None, vacuum_pa: float | None, coil_factor: float) -> DryerAir:
    from scheduler.physics.moisture.drying import VACUUM_PA, DryerAir

    pressure = VACUUM_PA if vacuum_pa is None else vacuum_pa
    return DryerAir(dew_point_c=dew_point_c, pressure_pa=pressure, coil_factor=coil_factor)


def _row(text: str) -> DryingRow:
    from scheduler.model import DryingRow
    from scheduler.physics.nonsense import Nonsense

    found = RECIPE.match(text.strip())
    if found is None:
        raise Nonsense(f"{text!r} is no recipe; write °C:hours, such as 110:6, or 80:7v for a vacuum")
    return DryingRow(float(found[1]), float(found[2]), bool(found[3]))


def _cautions(polymer: Polymer, temp_c: float) -> list[str]:
    lines = []
    if polymer.softens_c is not None and temp_c >= polymer.softens_c:
        lines.append(
            f"Above {polymer.softens_c:g} °C {polymer.name} itself softens when it is not crystalline:"
            " windings may stick; look at it before a long run."
        )
    if polymer.hydrolyses:
        lines.append(
            "Water breaks its chains in the hot end: too wet prints weak, even where it looks right."
        )
    return lines


@click.command(name="open")
@click.argument("polymer_name", metavar="POLYMER")
@options.filament
@options.room
@click.option("--from", "from_pct", type=float, help="Moisture out of the dryer, %; else half the limit.")
@click.option(
    "--stated", "stated_min", type=click.IntRange(min=1), help="Your own open time at 50 %, minutes."
)
@options.svg
def open_(
    polymer_name: str,
    filament_mm: float,
    limit_pct: float | None,
    humidity: float,
    room_c: float,
    from_pct: float | None,
    stated_min: int | None,
    svg: Path | None,
) -> None:
    """How long a dried spool of POLYMER may stand in a room."""
    from scheduler.physics.moisture.air import Air
    from scheduler.physics.moisture.coil import BARE, STILL, WOUND, Around
    from scheduler.physics.moisture.curves import open_chart
    from scheduler.physics.moisture.open_time import DRIED_SHARE, at_humidity, open_time
    from scheduler.physics.moisture.polymers import known_polymer
    from scheduler.physics.moisture.strand import Strand

    polymer = known_polymer(polymer_name)
    limit = options.positive_limit(limit_pct, polymer.limit.value)
    start = limit * DRIED_SHARE if from_pct is None else from_pct
    room = Air.of_room(room_c, humidity)
    say(
        [
            f"{polymer_name}, {filament_mm:g} mm, at {humidity:g} % and {room_c:g} °C,"
            f" from {start:.3g} to {limit:.3g} %"
        ]
    )
    lines = [("", "model", "from … to")]
    found, quick, slow = (
        open_time(each, filament_mm, room, limit, start)
        for each in (polymer, polymer.faster(), polymer.slower())
    )
    lines.append(
        ("wound spool", lasts(found.spool_min), f"{lasts(quick.spool_min)} … {lasts(slow.spool_min)}")
    )
    strand = f"{lasts(quick.strand_min)} … {lasts(slow.strand_min)}"
    lines.append(("outermost strand", lasts(found.strand_min), strand))
    say(table(lines))
    if stated_min is not None:
        today = at_humidity(polymer, filament_mm, stated_min, room_c, humidity, limit)
        say([f"Your {lasts(stated_min)} at 50 % become {lasts(today)} at {humidity:g} %."])
    say(["", *constants(polymer), DECIDE])
    if svg is not None:
        long = min(max((found.spool_min or 2880) * 1.6, 60), 14 * 1440) / 60
        dry = Strand.even(filament_mm, start)
        wound, bare = Around(room, WOUND, STILL), Around(room, BARE, STILL)
        title = f"{polymer_name} {filament_mm:g} mm at {humidity:g} % humidity"
        draw(open_chart(polymer, dry, wound, bare, long, limit, title), svg)


@click.command()
@click.argument("scenario", required=False, type=click.Path(path_type=Path))
def recipes(scenario: Path | None) -> None:
    """What published recipes do in the model, and by how much they miss.

    With SCENARIO, the recipes of its materials too.
    """
    from scheduler.model.codec import read_scenario_file
    from scheduler.physics.moisture.drying import DryerAir
    from scheduler.physics.moisture.polymers import polymer_of
    from scheduler.physics.moisture.recipes import DESICCANT, judge, judge_published

    head: tuple[str, ...] = (
        "",
        "recipe",
        "starts",
        "limit",
        "room air: ends",
        "takes",
        "",
        "dew point −30 °C: ends",
        "takes",
        "",
    )
    rows = [head]
    for recipe, room, desiccant in judge_published():
        name = f"{recipe.polymer} ({recipe.for_what})"
        what = f"{recipe.hours:g} h at {recipe.temp_c:g} °C{' vacuum' if recipe.vacuum else ''}"
        rows.append(_judged(name, what, room, desiccant))
    say(["Published recipes on a spool (or pellets) that lay at 50 % and 22 °C:", *table(rows)])
    if scenario is not None:
        shop, _ = read_scenario_file(scenario)
        rows = [head]
        for material in shop.materials:
            polymer = polymer_of(material)
            if polymer is None:
                say([f"{material.id}: nothing is known of {material.polymer}"])
                continue
            for row in material.drying:
                what = f"{row.hours:g} h at {row.temp_c:g} °C{' vacuum' if row.vacuum else ''}"
                both = [judge(polymer, material.filament_mm, row, air) for air in (DryerAir(), DESICCANT)]
                rows.append(_judged(material.id, what, *both))
        say(["", f"Recipes of {shop.site.name}:", *table(rows)])
    say(
        [
            "",
            "A recipe that misses in room air either needs dry air, or practice prints wetter than the limit",
            "that guides name. Where the model misses, its rows are anchored to what the recipe reaches.",
            DECIDE,
        ]
    )


def _judged(name: str, what: str, room: object, desiccant: object) -> tuple[str, ...]:
    from scheduler.physics.moisture.recipes import Verdict

    cells = []
    for verdict in (room, desiccant):
        assert isinstance(verdict, Verdict)
        mark = "reaches" if verdict.misses <= 1 else f"misses {verdict.misses:.1f} ×"
        cells += [f"{verdict.end_pct:.3f} % ({verdict.quick_pct:.3f}…{verdict.slow_pct:.3f})"]
        cells += [hours(verdict.needed_h), mark]
    assert isinstance(room, Verdict)
    return (name, what, f"{room.start_pct:.3g} %", f"{room.limit_pct:.3g} %", *cells)


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@options.room
@click.option("--dew-point", "dew_point_c", type=float, help="Of the dryer's air, °C; else room air.")
def weigh(file: Path, humidity: float, room_c: float, dew_point_c: float | None) -> None:
    """A dryer's coil factor from weighings of spools before and after runs.

    FILE is CSV with the columns polymer, before_g, after_g, body_g, temp_c, hours and, where they differ from
    1.75 mm, no vacuum and the room's humidity, filament_mm, vacuum, stored_pct.
    """
    from scheduler.physics.moisture.air import Air
    from scheduler.physics.moisture.drying import DryerAir
    from scheduler.physics.moisture.weighing import calibrate

    weighings = read_weighings(read_file(file).decode("utf-8-sig", "replace"), file.name, humidity)
    room = Air.of_room(room_c, humidity)
    dryer = DryerAir(dew_point_c=dew_point_c)
    found = calibrate(weighings, dryer, room)
    fitted = DryerAir(dew_point_c=dew_point_c, coil_factor=found.factor.value)
    rows = [("run", "lost", "model says", "with the factor")]
    for number, each in enumerate(weighings, 1):
        rows.append(
            (
                f"{number}: {each.polymer.name}, {each.hours:g} h at {each.temp_c:g} °C",
                f"{each.lost_g:.1f} g",
                f"{each.expected_g(dryer, room):.1f} g",
                f"{each.expected_g(fitted, room):.1f} g",
            )
        )
    factor = found.factor
    say(table(rows))
    say(
        [
            f"coil factor {factor.value:.2g} (95 %: {factor.low:.2g} to {factor.high:.2g}),"
            f" off by {found.deviation_g:.1f} g"
        ]
    )
    say([f"note: {warning}" for warning in found.warnings])


def read_weighings(text: str, name: str, humidity: float) -> list[Weighing]:
    """Weighings from a CSV file; :class:`Nonsense` with every line that can't be read."""
    from scheduler.physics.moisture.polymers import known_polymer
    from scheduler.physics.moisture.weighing import Weighing
    from scheduler.physics.nonsense import Nonsense

    needed = ("polymer", "before_g", "after_g", "body_g", "temp_c", "hours")
    rows = csv.DictReader(io.StringIO(text))
    missing = [column for column in needed if column not in (rows.fieldnames or ())]
    if missing:
        raise Nonsense(f"{name}: no column {', '.join(missing)}")
    found, wrong = [], []
    for line, row in enumerate(rows, 2):
        try:
            figures = {column: float(row[column] or "nan") for column in needed[1:]}
            found.append(
                Weighing(
                    known_polymer(row["polymer"] or ""),
                    float(row.get("filament_mm") or 1.75),
                    vacuum=(row.get("vacuum") or "").strip().lower() in ("yes", "1", "true", "v"),
                    stored_pct=float(row.get("stored_pct") or humidity),
                    **figures,
                )
            )
        except (ValueError, Nonsense) as error:
            wrong.append(f"{name}, line {line}: {error}")
    if wrong:
        raise Nonsense("\n".join(wrong))
    return found
