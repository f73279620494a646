"""`soakline quote`: dates for customers, from the record."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast
from zoneinfo import ZoneInfo

import click

from scheduler.cli.files import read_file
from scheduler.cli.record import open_record
from scheduler.model.errors import SoaklineError

if TYPE_CHECKING:
    from scheduler.quoting.ask import Ask
    from scheduler.quoting.ways import WayName
    from scheduler.store import Record

WAYS = ("as planned", "sooner", "later")
CHANCES = ("50", "80", "95")


class BadRequestFile(SoaklineError):
    """A request file that can't be read."""


@click.group()
def quote() -> None:
    """Find dates that the shop will keep, hold them, and make orders of them.

    A request file is JSON: {"wanted": instant or null, "buy_days": days or null, "lines": [{"part",
    "quantity", "material", "size_mm": [x, y, z], "print_min", "grams"}, ...]}; a line can also have
    "nozzle_mm", "certs", "needs_qualified", "anneal", "one_lot", "finish_min". Figures are those of
    one piece.
    """


@quote.command("draft")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--customer", required=True, help="Who asks.")
@click.option("--contact", default="", help="Whom to write to.")
def draft_(file: Path, customer: str, contact: str) -> None:
    """Record the request in FILE as a draft."""
    from scheduler.office.clock import system_clock
    from scheduler.office.quotes.drafts import draft

    number = draft(open_record(), system_clock, customer, contact, _read(file))
    click.echo(f"Q-{number}")


@quote.command("list")
@click.argument("words", nargs=-1)
def list_(words: tuple[str, ...]) -> None:
    """List quotes, those with all WORDS in number, customer, contact or parts."""
    record = open_record()
    with record.reading() as unit:
        found = unit.quotes.find(" ".join(words))
    zone = _zone(record)
    for one in found:
        until = _when(one.promised_for, zone)
        click.echo(f"{one.name:<8} {one.state:<9} {until:<17} {one.customer}: {one.parts}")


@quote.command("answer")
@click.argument("number", type=click.IntRange(1))
def answer_(number: int) -> None:
    """Work out the ways of quote NUMBER on the shop of now; store nothing."""
    from scheduler.office.clock import system_clock
    from scheduler.office.quotes.holds import answer_quote
    from scheduler.quoting.price import money

    record = open_record()
    ground, found = answer_quote(record, system_clock, number)
    zone = _zone(record)
    for way in found.ways:
        dates = ", ".join(f"{c} % {_when(by, zone)}" for c, by in zip(CHANCES, way.by, strict=True))
        price = money(way.price.cents, ground.sheet.currency)
        click.echo(f"{way.name}: planned {_when(way.planned_for, zone)}; {dates}; {price}")
        for line in (*way.takes, way.bottleneck()):
            click.echo(f"  {line}")
    if found.ways:
        put_in = found.ways[0].insertion
        for line in ground.counted(
            {job.feeds[0].material for job in put_in.scenario.jobs if job.id in put_in.added}
        ):
            click.echo(line)
    if not found.ways and found.unplaced is not None:
        made = found.unplaced.plan("", ground.scenario.site.plan_start)
        click.echo(f"Q-{number}: no place is found", err=True)
        for entry in made.unplaced:
            if entry.job in found.unplaced.added:
                click.echo(
                    f"  {entry.job}: {'; '.join(reason.text for reason in entry.reasons[:3])}", err=True
                )
        raise SystemExit(1)


@quote.command("hold")
@click.argument("number", type=click.IntRange(1))
@click.option("--until", required=True, help="Local day and time, as 2031-03-04T17:00.")
@click.option("--way", type=click.Choice(WAYS), default="as planned", show_default=True)
@click.option("--chance", type=click.Choice(CHANCES), default="80", show_default=True, help="Percent.")
def hold_(number: int, until: str, way: str, chance: str) -> None:
    """Reserve the slot of quote NUMBER until an hour."""
    from scheduler.office.clock import system_clock
    from scheduler.office.local_time import instant_of
    from scheduler.office.quotes.holds import hold

    record = open_record()
    zone = _zone(record)
    try:
        end = instant_of(datetime.fromisoformat(until), zone)
    except ValueError as error:
        raise BadRequestFile(f"--until {until}: {error}") from None
    held = hold(record, system_clock, number, end, cast("WayName", way), int(chance) / 100)
    click.echo(
        f"{held.name} is held until {_when(held.held_until, zone)},"
        f" promised for {_when(held.promised_for, zone)}"
    )


@quote.command("accept")
@click.argument("number", type=click.IntRange(1))
@click.option("--even-later", is_flag=True, help="Also if the date can't be kept any more.")
def accept_(number: int, even_later: bool) -> None:
    """Make an order of quote NUMBER, which is held or sent."""
    from scheduler.office.clock import system_clock
    from scheduler.office.quotes.holds import accept

    record = open_record()
    taken = accept(record, system_clock, number, even_later)
    click.echo(
        f"{taken.name} is order {taken.order}, promised for {_when(taken.promised_for, _zone(record))}"
    )


@quote.command("decline")
@click.argument("number", type=click.IntRange(1))
def decline_(number: int) -> None:
    """Turn quote NUMBER down and give back what it held."""
    from scheduler.office.clock import system_clock
    from scheduler.office.quotes.drafts import decline

    record = open_record()
    decline(record, system_clock, number)
    click.echo(f"Q-{number} is declined")
    _tell_overtime(record, number)


@quote.command("expire")
def expire_() -> None:
    """Give back what was held for too long."""
    from scheduler.office.clock import system_clock
    from scheduler.office.quotes.expiry import expire_holds

    record = open_record()
    ended = expire_holds(record, system_clock)
    click.echo(", ".join(f"Q-{number}" for number in ended) + " given back" if ended else "no hold has ended")
    for number in ended:
        _tell_overtime(record, number)


def _tell_overtime(record: Record, number: int) -> None:
    """What became of the overtime that a hold had added."""
    with record.reading() as unit:
        events = unit.events.list(("quote", f"Q-{number}"), 1)
    for line in events[0].data.get("overtime", ()) if events else ():
        click.echo(f"Q-{number}: {line}")


def _read(file: Path) -> Ask:
    from scheduler.quoting.ask import ask_of

    try:
        content: Any = json.loads(read_file(file))
        return ask_of(
            {"wanted": None, "buy_days": 3, **content, "lines": [_line(x) for x in content["lines"]]}
        )
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise BadRequestFile(
            f"{file} is no request file: {error!r}; `soakline quote -h` says what it holds"
        ) from None


def _line(content: dict[str, Any]) -> dict[str, Any]:
    usual = {"nozzle_mm": [0.4, 0.6], "certs": [], "needs_qualified": []}
    line = {**usual, **content}
    numbers = [*line["size_mm"], line["print_min"], line["grams"], *line["nozzle_mm"]]
    if len(line["size_mm"]) != 3 or not all(isinstance(x, int | float) for x in numbers):
        raise ValueError("size_mm is three numbers; print_min, grams and nozzle_mm are numbers")
    if not isinstance(line["quantity"], int) or not isinstance(line["part"], str):
        raise ValueError("quantity is a whole number, part a text")
    return line


def _zone(record: Record) -> ZoneInfo:
    with record.reading() as unit:
        return ZoneInfo(unit.fleet.load().site.timezone)


def _when(instant: datetime | None, zone: ZoneInfo) -> str:
    return "–" if instant is None else f"{instant.astimezone(zone):%a %d %b %H:%M}"
