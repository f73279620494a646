"""Order sheets read into lines, with everything that is wrong with them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from scheduler.model import Feed
from scheduler.office.orders.columns import BY_HEADING, COLUMNS, Column, folded
from scheduler.office.orders.grids import BadGrid, Cell, Formula, read_grid
from scheduler.office.orders.line import MOST_PLATES, OrderLine

_SHOWN_CHARACTERS = 60


@dataclass(frozen=True, slots=True)
class SheetMessage:
    """One thing wrong with a sheet.

    Parameters
    ----------
    row : int or None
        As the file's program numbers it; ``None`` if the whole file is meant.
    column : str or None
        Its heading.
    value : str
        What stands there.
    text : str
        What is wrong, in words.
    """

    row: int | None
    column: str | None
    value: str
    text: str

    def __str__(self) -> str:
        place = ", ".join(part for part in (f"row {self.row}" if self.row else "", self.column or "") if part)
        value = self.value if len(self.value) <= _SHOWN_CHARACTERS else self.value[:_SHOWN_CHARACTERS] + "…"
        shown = value if value.isprintable() else repr(value)
        sentence = f"{shown} {self.text}" if shown else self.text
        return f"{place}: {sentence}" if place else sentence


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A row that could be read, with its number."""

    row: int
    line: OrderLine


@dataclass(frozen=True, slots=True)
class OrderSheet:
    """A sheet as read: its lines, and what is wrong with it (nothing of it is stored then)."""

    filename: str
    rows: tuple[SheetRow, ...]
    messages: tuple[SheetMessage, ...]


class _BadCells(ValueError):
    def __init__(self, messages: list[SheetMessage]) -> None:
        self.messages = messages
        super().__init__("bad cells")


def read_orders(data: bytes, filename: str) -> OrderSheet:
    """An order sheet of a CSV or XLSX file; never raises for what is in the file.

    Parameters
    ----------
    filename : str
        For messages, and to tell a damaged workbook from a text file.
    """
    try:
        heading, *body = read_grid(data, filename)
    except BadGrid as error:
        return OrderSheet(filename, (), (SheetMessage(None, None, "", str(error)),))
    columns, messages = _columns(*heading)
    if messages:
        # Cells under a wrong heading would only add to the confusion.
        return OrderSheet(filename, (), tuple(messages))
    if not body:
        message = SheetMessage(None, None, "", "the file has a heading but no order lines under it")
        return OrderSheet(filename, (), (message,))
    rows: list[SheetRow] = []
    for number, cells in body:
        try:
            rows.append(SheetRow(number, _line(number, cells, columns)))
        except _BadCells as error:
            messages.extend(error.messages)
    return OrderSheet(filename, tuple(rows), tuple(messages))


def _columns(row: int, cells: tuple[Cell, ...]) -> tuple[list[Column | None], list[SheetMessage]]:
    """The column under each heading (``None`` under an empty one)."""
    columns: list[Column | None] = []
    messages: list[SheetMessage] = []
    for cell in cells:
        heading = cell.text if isinstance(cell, Formula) else cell
        column = BY_HEADING.get(folded(heading))
        if heading and column is None:
            messages.append(SheetMessage(row, None, heading, "is not a heading of an order sheet"))
        elif column is not None and column in columns:
            messages.append(SheetMessage(row, None, heading, "is there twice as a heading"))
        columns.append(column)
    for column in COLUMNS:
        if column.required and column not in columns:
            messages.append(SheetMessage(row, None, "", f"the column {column.heading} is missing"))
    return columns, messages


def _line(row: int, cells: tuple[Cell, ...], columns: list[Column | None]) -> OrderLine:
    values: dict[str, Any] = {}
    messages: list[SheetMessage] = []

    def wrong(column: str | None, value: str, text: str) -> None:
        messages.append(SheetMessage(row, column, value, text))

    for place, cell in enumerate(cells):
        column = columns[place] if place < len(columns) else None
        if not cell:
            continue
        if column is None:
            text = cell.text if isinstance(cell, Formula) else cell
            wrong(None, text, f"stands in column {place + 1}, which has no heading")
        elif isinstance(cell, Formula):
            wrong(column.heading, cell.text, "is a formula; put its value there")
        else:
            try:
                values[column.heading] = column.read(cell)
            except ValueError as error:
                wrong(column.heading, cell, str(error))
    failed = {message.column for message in messages}
    for column in COLUMNS:
        if column.required and column.heading not in values and column.heading not in failed:
            wrong(column.heading, "", "is empty")
    second = [heading for heading in values if heading.startswith("second ")]
    if second:
        for heading in ("second material", "second grams", "second nozzle mm"):
            if heading not in values and heading not in failed:
                wrong(heading, "", f"is empty, though {second[0]} is filled in")
    if values.get("plates", 1) > MOST_PLATES:
        wrong("plates", str(values["plates"]), f"is more than {MOST_PLATES} in one line")
    if messages:
        raise _BadCells(messages)
    return _made(values)


def _made(values: dict[str, Any]) -> OrderLine:
    feeds = [Feed(values["material"], values["grams"], values["nozzle mm"], values.get("certificates", ()))]
    if "second material" in values:
        feeds.append(
            Feed(
                values["second material"],
                values["second grams"],
                values["second nozzle mm"],
                values.get("second certificates", ()),
            )
        )
    return OrderLine(
        job=values["job"],
        order=values["order"],
        part=values["part"],
        print_min=values["print time"],
        size_mm=(values["x mm"], values["y mm"], values["z mm"]),
        feeds=tuple(feeds),
        customer=values.get("customer"),
        note=values.get("note"),
        confidential=values.get("confidential"),
        plates=values.get("plates", 1),
        quantity=values.get("parts on a plate", 1),
        needs_qualified=values.get("qualifications", ()),
        anneal=values.get("anneal", False),
        finish_min=values.get("finish time", 0),
        release=values.get("release"),
        due=values.get("due"),
        weight=values.get("weight", 1.0),
        same_lot_as=values.get("same lot as"),
    )
