"""``soakline demo-scenario``: a made-up shop as a scenario file."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import click

from demo_fleet.generator import generate
from demo_fleet.shop import ZONE, demo_shop
from demo_fleet.sizes import SIZES
from scheduler.model.codec import encode_scenario, to_json
from scheduler.model.errors import SoaklineError

DEMO = "demo"


class NotWritten(SoaklineError):
    """The scenario could not be written where it was asked for."""


@click.command("demo-scenario")
@click.option(
    "--size",
    type=click.Choice([*SIZES, DEMO]),
    default=DEMO,
    show_default=True,
    help="S: 8 printers and 40 jobs, M: 40 and 200, L: 200 and 1,000, XL: 2,000 and 20,000; "
    "demo: the demo shop.",
)
@click.option("--seed", type=int, default=1, show_default=True, help="Another seed is another shop.")
@click.option(
    "--date",
    "day",
    type=click.DateTime(["%Y-%m-%d"]),
    help="Day on which the demo shop's plan starts; else today. The other sizes have a fixed one.",
)
@click.option("--out", type=click.Path(path_type=Path), help="File to write; else standard output.")
def demo_scenario(size: str, seed: int, day: datetime | None, out: Path | None) -> None:
    """Write a made-up scenario file of a given size.

    The same size, seed and date give the same file.
    """
    if size != DEMO and day is not None:
        raise click.UsageError(f"--date is for the demo shop; size {size} always starts on the same day.")
    shop = demo_shop(_day(day), seed) if size == DEMO else generate(size, seed)
    text = to_json(encode_scenario(shop))
    if out is None:
        click.echo(text, nl=False)
        return
    try:
        out.write_text(text, encoding="utf-8")
    except OSError as error:
        raise NotWritten(f"{out}: {error.strerror or error}") from error
    click.echo(
        f"{out}: {len(shop.printers)} printers, {len(shop.jobs)} jobs, {len(shop.spools)} spools", err=True
    )


def _day(day: datetime | None) -> date:
    return datetime.now(ZoneInfo(ZONE)).date() if day is None else day.date()
