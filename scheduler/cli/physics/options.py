"""Options that several commands of `soakline physics` share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from scheduler.physics.nonsense import Nonsense

F = TypeVar("F", bound=Callable[..., Any])


def together(*options: Callable[[F], F]) -> Callable[[F], F]:
    """Several options as one decorator, in the order given."""

    def add(command: F) -> F:
        for option in reversed(options):
            command = option(command)
        return command

    return add


svg = click.option(
    "--svg", type=click.Path(dir_okay=False, path_type=Path), help="Draw the curve to this file."
)
room = together(
    click.option(
        "--rh", "humidity", default=50.0, show_default=True, help="Relative humidity of the room, %."
    ),
    click.option("--room", "room_c", default=22.0, show_default=True, help="Temperature of the room, °C."),
)
filament = together(
    click.option("--diameter", "filament_mm", default=1.75, show_default=True, help="Of the filament, mm."),
    click.option("--limit", "limit_pct", type=float, help="Moisture to print at, %; else the library's."),
)
dryer = together(
    click.option("--dew-point", "dew_point_c", type=float, help="Of a desiccant's air, °C; else room air."),
    click.option("--vacuum", "vacuum_pa", type=float, help="Absolute pressure of a vacuum oven, Pa."),
    click.option(
        "--coil", "coil_factor", default=1.0, show_default=True,
        help="The dryer's own factor on the coil's resistance; 0 for a bare strand. See `weigh`.",
    ),
)  # fmt: skip


def positive_limit(limit_pct: float | None, known_pct: float) -> float:
    """The limit asked for, or the library's."""
    if limit_pct is None:
        return known_pct
    if not 0 < limit_pct < 50:
        raise Nonsense(f"the moisture to print at is {limit_pct:g} %; it must lie between 0 and 50 %")
    return limit_pct
