"""Empty order sheets that the app hands out."""

from __future__ import annotations

import csv
import io
from typing import Any, Literal

from scheduler.office.orders.columns import COLUMNS


def order_template(fmt: Literal["csv", "xlsx"]) -> bytes:
    """An order sheet with its headings and one example row; in a workbook, a second sheet explains each.

    Raises
    ------
    ValueError
        For another format.
    """
    if fmt == "csv":
        return _csv()
    if fmt == "xlsx":
        return _xlsx()
    raise ValueError(f"{fmt} is neither csv nor xlsx")


def _csv() -> bytes:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([column.heading for column in COLUMNS])
    writer.writerow([column.example for column in COLUMNS])
    # With the mark, spreadsheet programs take the file for UTF-8.
    return out.getvalue().encode("utf-8-sig")


def _xlsx() -> bytes:
    import openpyxl
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    book = openpyxl.Workbook()
    orders = book.worksheets[0]
    orders.title = "Orders"
    orders.freeze_panes = "A2"
    for place, column in enumerate(COLUMNS, start=1):
        _put(orders, 1, place, column.heading).font = Font(bold=True)
        _put(orders, 2, place, column.example)
        letter = get_column_letter(place)
        orders.column_dimensions[letter].width = max(len(column.heading), len(column.example)) + 3
    about = book.create_sheet("Columns")
    for place, (heading, width) in enumerate(
        (("column", 22), ("needed", 10), ("what it holds", 70)), start=1
    ):
        _put(about, 1, place, heading).font = Font(bold=True)
        about.column_dimensions[get_column_letter(place)].width = width
    for row, column in enumerate(COLUMNS, start=2):
        _put(about, row, 1, column.heading)
        _put(about, row, 2, "yes" if column.required else "no")
        _put(about, row, 3, column.about).alignment = Alignment(wrap_text=True)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _put(sheet: Any, row: int, column: int, text: str) -> Any:
    """Write text as text, so that a leading equals sign makes no formula of it."""
    cell = sheet.cell(row=row, column=column, value=text or None)
    if text:
        cell.data_type = "s"
        cell.number_format = "@"
    return cell
