"""The form of an order line: the columns of an order sheet, one under the other."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from datetime import datetime, tzinfo

from scheduler.office.orders import COLUMNS, Column, OrderLine, OrderSheet, read_orders

#: Columns by the heading of their part of the form.
PARTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("The order", ("order", "customer", "note", "confidential")),
    ("The part", ("job", "part", "plates", "parts on a plate", "print time", "x mm", "y mm", "z mm")),
    ("Filament", ("material", "grams", "nozzle mm", "certificates")),
    (
        "Support or second material",
        ("second material", "second grams", "second nozzle mm", "second certificates"),
    ),
    ("When", ("due", "release", "weight", "finish time")),
    ("What else it asks for", ("anneal", "qualifications", "same lot as")),
)
BY_HEADING = {column.heading: column for column in COLUMNS}
YES_NO = frozenset({"confidential", "anneal"})


def name_of(column: Column) -> str:
    """The form's name for a column."""
    return column.heading.replace(" ", "-")


def read_line(form: Mapping[str, str]) -> OrderSheet:
    """A filled form as a sheet of one row; its messages name the columns."""
    written = io.StringIO()
    rows = csv.writer(written)
    rows.writerow([column.heading for column in COLUMNS])
    rows.writerow([" ".join(form.get(name_of(column), "").split()) for column in COLUMNS])
    return read_orders(written.getvalue().encode(), "form.csv")


def texts_of(line: OrderLine, zone: tzinfo) -> dict[str, str]:
    """A recorded line as the texts of a form, by name."""
    first = line.feeds[0]
    second = line.feeds[1] if len(line.feeds) == 2 else None
    texts = {
        "job": line.job,
        "order": line.order,
        "customer": line.customer or "",
        "note": line.note or "",
        "confidential": _yes(line.confidential),
        "part": line.part,
        "plates": str(line.plates),
        "parts on a plate": str(line.quantity),
        "print time": _clock(line.print_min),
        "x mm": f"{line.size_mm[0]:g}",
        "y mm": f"{line.size_mm[1]:g}",
        "z mm": f"{line.size_mm[2]:g}",
        "material": first.material,
        "grams": f"{first.grams:g}",
        "nozzle mm": "; ".join(f"{size:g}" for size in first.nozzle_mm),
        "certificates": "; ".join(first.certs),
        "anneal": _yes(line.anneal),
        "finish time": _clock(line.finish_min),
        "release": _time(line.release, zone),
        "due": _time(line.due, zone),
        "weight": f"{line.weight:g}",
        "qualifications": "; ".join(line.needs_qualified),
        "same lot as": line.same_lot_as or "",
    }
    if second is not None:
        texts["second material"] = second.material
        texts["second grams"] = f"{second.grams:g}"
        texts["second nozzle mm"] = "; ".join(f"{size:g}" for size in second.nozzle_mm)
        texts["second certificates"] = "; ".join(second.certs)
    return {name_of(BY_HEADING[heading]): text for heading, text in texts.items()}


def _yes(value: bool | None) -> str:
    return "yes" if value else "no"


def _clock(minutes: int) -> str:
    return f"{minutes // 60}:{minutes % 60:02d}"


def _time(instant: datetime | None, zone: tzinfo) -> str:
    """A local time as the sheet's reader takes it; with its offset, so that it is never ambiguous."""
    if instant is None:
        return ""
    there = instant.astimezone(zone)
    before, after = there.replace(fold=0).utcoffset(), there.replace(fold=1).utcoffset()
    if before != after:
        return there.isoformat(sep=" ", timespec="minutes")
    return f"{there:%Y-%m-%d %H:%M}"
