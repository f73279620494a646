"""`soakline physics soak`, `cool` and `fit`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.cli.files import read_file
from scheduler.cli.physics import options
from scheduler.cli.physics.words import draw, lasts, say

if TYPE_CHECKING:
    from scheduler.physics.fitting import Estimate, Fit

MEASURE = (
    "A planned time is a figure, not a reading: measure at the plate, and trust the machine's own display."
)


@click.command()
@click.argument("what", metavar="WHAT")
@click.option("--thickness", "thickness_mm", required=True, type=float, help="Of plate or part, mm.")
@click.option("--from", "from_c", default=22.0, show_default=True, help="Where it starts, °C.")
@click.option("--to", "air_c", required=True, type=float, help="The chamber's setpoint, °C.")
@click.option(
    "--within", "within_k", default=5.0, show_default=True, help="How near its middle must come, K."
)
@click.option("--fan", is_flag=True, help="The chamber's air is moved by a fan.")
@click.option("--one-face", is_flag=True, help="Only one face gets heat.")
def soak(
    what: str, thickness_mm: float, from_c: float, air_c: float, within_k: float, fan: bool, one_face: bool
) -> None:
    """How long a plate or part of WHAT (glass, aluminium, PEEK …) soaks until its middle is hot."""
    from scheduler.physics import conduction

    substance = conduction.substance(what)
    transfer = conduction.FAN_W if fan else conduction.STILL_W
    found = conduction.soak(substance, thickness_mm, from_c, air_c, within_k, transfer, not one_face)
    how = "warms as one lump" if found.lumped else "its middle lags behind its skin"
    say(
        [
            f"{lasts(found.minutes)} until the middle of {thickness_mm:g} mm of {substance.name}"
            f" is within {within_k:g} K of {air_c:g} °C",
            f"Biot number {found.biot:.2g}: it {how}; {substance.conductivity:g} W/(m K),"
            f" {substance.diffusivity:.2g} m²/s (handbook), {transfer:g} W/(m² K) to the air (estimate)",
            MEASURE,
        ]
    )


@click.command()
@click.argument("what", metavar="WHAT")
@click.option("--thickness", "thickness_mm", required=True, type=float, help="Of the thickest section, mm.")
@click.option("--apart", "apart_k", default=20.0, show_default=True, help="Most between middle and skin, K.")
@click.option("--shape", type=click.Choice(["sheet", "rod", "ball"]), default="sheet", show_default=True)
@click.option("--cap", "cap_c_per_min", type=float, help="The material's own cap, °C/min; the slower counts.")
@click.option(
    "--from", "from_c", type=float, help="Chamber at the print's end, °C; with --release the time too."
)
@click.option("--release", "release_c", type=float, help="Where the part lets go, °C.")
@click.option(
    "--tau", "tau_min", default=70.0, show_default=True, help="The chamber's cooling constant, min."
)
@click.option("--room", "room_c", default=22.0, show_default=True, help="Temperature of the room, °C.")
def cool(
    what: str,
    thickness_mm: float,
    apart_k: float,
    shape: str,
    cap_c_per_min: float | None,
    from_c: float | None,
    release_c: float | None,
    tau_min: float,
    room_c: float,
) -> None:
    """How slowly a part of WHAT must cool so that its middle and skin stay close."""
    from scheduler.physics import conduction
    from scheduler.physics.heat import natural_or_capped
    from scheduler.physics.nonsense import Nonsense, positive

    substance = conduction.substance(what)
    alone = conduction.slowest_cooling(substance, thickness_mm, apart_k, shape)  # type: ignore[arg-type] # one of click's choices
    rate = conduction.slowest_cooling(substance, thickness_mm, apart_k, shape, cap_c_per_min)  # type: ignore[arg-type] # one of click's choices
    say([f"{rate:.2f} °C/min at the most for {thickness_mm:g} mm of {substance.name}, {apart_k:g} K apart"])
    if cap_c_per_min is not None:
        slower = "the material's own cap" if cap_c_per_min <= alone else "the part's thickness"
        say([f"{slower} is the slower of {cap_c_per_min:g} and {alone:.2f} °C/min"])
    if from_c is not None and release_c is not None:
        positive("the chamber's cooling constant", tau_min, "min")
        if release_c <= room_c:
            raise Nonsense(f"a release at {release_c:g} °C is not above the room's {room_c:g} °C")
        free = natural_or_capped(from_c, release_c, None, tau_min, room_c)
        slow = natural_or_capped(from_c, release_c, rate, tau_min, room_c)
        say(
            [
                f"{lasts(slow)} from {from_c:g} to {release_c:g} °C;"
                f" left alone the chamber falls in {lasts(free)}"
            ]
        )
    say([MEASURE])


@click.group()
def fit() -> None:
    """Fit a chamber's constants to its own log.

    The log is CSV: a column minutes, seconds or time (ISO 8601), temp_c, and perhaps setpoint_c.
    """


@fit.command()
@click.argument("log", type=click.Path(path_type=Path))
@click.option(
    "--rated", "rated_c", type=float, help="The reach on record, °C, to be told if it is no longer met."
)
@options.svg
def heating(log: Path, rated_c: float | None, svg: Path | None) -> None:
    """Heating time constant and reach from the rise at full power."""
    from scheduler.physics.fitting import fit_heating
    from scheduler.physics.logs import heating_part, read_log

    found = fit_heating(*heating_part(read_log(read_file(log).decode("utf-8-sig", "replace"), log.name)))
    _tell(found, "would reach")
    if rated_c is not None and found.end_c.high < rated_c:
        say([f"note: that is under the {rated_c:g} °C on record: look at element, fan and door seal"])
    if svg is not None:
        draw(found.chart(f"Heating, {log.name}"), svg)


@fit.command()
@click.argument("log", type=click.Path(path_type=Path))
@click.option("--room", "room_c", type=float, help="Temperature of the room, °C; else it is fitted too.")
@options.svg
def cooling(log: Path, room_c: float | None, svg: Path | None) -> None:
    """Cooling time constant from the last fall."""
    from scheduler.physics.fitting import fit_cooling
    from scheduler.physics.logs import cooling_part, read_log

    text = read_file(log).decode("utf-8-sig", "replace")
    found = fit_cooling(*cooling_part(read_log(text, log.name)), room_c=room_c)
    _tell(found, "falls towards")
    if svg is not None:
        draw(found.chart(f"Cooling, {log.name}"), svg)


def _tell(found: Fit, ends: str) -> None:
    say(
        [
            f"time constant {_estimate(found.tau_min)} min; {ends} {_estimate(found.end_c)} °C",
            f"{len(found.minutes)} readings over {found.minutes[-1]:.0f} min,"
            f" {found.deviation_k:.1f} K about the curve",
            *(f"note: {warning}" for warning in found.warnings),
        ]
    )


def _estimate(each: Estimate) -> str:
    if each.low == each.high:
        return f"{each.value:.0f} (given)"
    return f"{each.value:.1f} (95 %: {each.low:.1f} to {each.high:.1f})"
