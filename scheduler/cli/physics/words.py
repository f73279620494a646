"""How figures are said, and what is said with every answer."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from scheduler.cli.files import write_file
from scheduler.physics.chart import Chart
from scheduler.physics.moisture.polymer import Known, Polymer
from scheduler.physics.moisture.table import SOURCES

DECIDE = "Your supplier's data sheet and the oven's manual decide; this is a model, and no certificate."
SURE = {"S": "measured or stated", "P": "common practice", "E": "an estimate"}


def lasts(minutes: float | None) -> str:
    """Minutes in words: ``40 min``, ``5 h 20 min``, ``3 d 4 h``."""
    if minutes is None:
        return "never"
    whole = round(minutes)
    if whole < 90:
        return f"{whole} min"
    hours, rest = divmod(whole, 60)
    if hours < 48:
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    days, hours = divmod(hours, 24)
    return f"{days} d {hours} h" if hours else f"{days} d"


def hours(value: float | None) -> str:
    """Hours in words."""
    return lasts(None if value is None else value * 60)


def constants(polymer: Polymer) -> list[str]:
    """The constants that an answer stands on, each with range, sureness and source."""
    rows = (
        ("diffusivity at 23 °C", polymer.diffusivity, "m²/s"),
        ("activation energy", polymer.activation, "kJ/mol"),
        ("held at 100 % humidity", polymer.saturated, "%"),
        ("isotherm's exponent", polymer.exponent, ""),
        ("most to print at", polymer.limit, "%"),
    )
    lines = [f"Stands on ({polymer.name}):"]
    lines += [f"  {name:<24}{_known(known, unit)}" for name, known, unit in rows]
    used = sorted({number for _, known, _ in rows for number in known.sources})
    lines += [f"  [{number}] {SOURCES[number]}" for number in used]
    lines.append("  Above 100 °C no study measures; there the law is carried on, and your weighings decide.")
    return lines


def _known(known: Known, unit: str) -> str:
    sources = "".join(f" [{number}]" for number in known.sources)
    figure = f"{known.value:.3g} {unit}".strip()
    return f"{figure:<16} {known.least:.2g} to {known.most:.2g}, {SURE[known.sure]}{sources}"


def table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows as lines with columns under one another."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    ]


def say(lines: Sequence[str]) -> None:
    """Lines to standard output."""
    for line in lines:
        click.echo(line)


def draw(chart: Chart, path: Path) -> None:
    """Write a drawing to a file."""
    write_file(path, (chart.svg() + "\n").encode())
    click.echo(f"wrote {path}")
