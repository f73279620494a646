"""`soakline orders`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from scheduler.cli.files import read_file, write_file
from scheduler.cli.record import open_record

if TYPE_CHECKING:
    from scheduler.office.orders import Changes


@click.group()
def orders() -> None:
    """Add and change orders from a CSV or XLSX sheet.

    Begin with `soakline orders template`: its headings are those that a sheet needs.
    """


@orders.command()
@click.option("--format", "fmt", type=click.Choice(["csv", "xlsx"]), default="csv", show_default=True)
@click.option(
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    help="File to write; else standard output. Its ending, .csv or .xlsx, gives the format.",
)
def template(fmt: Literal["csv", "xlsx"], out: Path | None) -> None:
    """Write an order sheet with its headings and one example row."""
    from scheduler.office.orders import order_template

    if out is None:
        sys.stdout.buffer.write(order_template(fmt))
        return
    write_file(out, order_template("xlsx" if out.suffix.lower() == ".xlsx" else fmt))
    click.echo(f"wrote {out}")


@orders.command()
@click.argument("file", type=click.Path(path_type=Path))
def check(file: Path) -> None:
    """Show what the sheet FILE would change; store nothing."""
    from scheduler.office.clock import system_clock
    from scheduler.office.orders import Refused, preview_orders, read_orders

    sheet = read_orders(read_file(file), file.name)
    changes = preview_orders(open_record(), sheet, system_clock)
    if changes.messages:
        raise Refused("\n".join(str(message) for message in changes.messages))
    _tell(changes)
    click.echo("nothing is stored yet: `soakline orders load` does")


@orders.command()
@click.argument("file", type=click.Path(path_type=Path))
def load(file: Path) -> None:
    """Record what the sheet FILE asks for, all of it or nothing."""
    from scheduler.office.clock import system_clock
    from scheduler.office.orders import apply_orders, read_orders

    sheet = read_orders(read_file(file), file.name)
    _tell(apply_orders(open_record(), system_clock, sheet))


def _tell(changes: Changes) -> None:
    for job in changes.added:
        click.echo(f"add     {job.id}  {job.part}, order {job.order}")
    for change in changes.changed:
        click.echo(f"change  {change.after.id}  {', '.join(change.fields)}")
    for order in changes.orders:
        click.echo(f"note    order {order.id}")
    click.echo(
        f"jobs: {len(changes.added)} new, {len(changes.changed)} changed, {len(changes.same)} the same;"
        f" orders noted: {len(changes.orders)}"
    )
