"""CSV and XLSX files taken apart into rows of text, without trusting them."""

from __future__ import annotations

import csv
import io
import warnings
import zipfile
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from scheduler.office.orders.columns import BY_HEADING, folded

#: Largest file, bytes; and largest workbook once unpacked.
MOST_BYTES = 4 * 1024 * 1024
MOST_UNPACKED_BYTES = 64 * 1024 * 1024
MOST_ROWS = 5_000
MOST_COLUMNS = 200
#: Rows in which an end of an almost empty sheet is looked for.
_MOST_EMPTY_ROWS = 100_000

_ZIP, _OLD_OFFICE = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"


class BadGrid(ValueError):
    """A file that can't be taken apart; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Formula:
    """A cell whose value a spreadsheet would work out; nothing here does."""

    text: str


Cell = str | Formula
#: The number that the file's program shows for a row, and its cells.
Row = tuple[int, tuple[Cell, ...]]


def read_grid(data: bytes, filename: str) -> list[Row]:
    """The rows of a file that hold anything, the heading first.

    Raises
    ------
    BadGrid
        If the file is too large, of another kind, damaged, or carries macros.
    """
    if len(data) > MOST_BYTES:
        raise BadGrid(
            f"the file has {len(data) / 1024 / 1024:.1f} MB, more than {MOST_BYTES // 1024 // 1024} MB;"
            " split it"
        )
    if not data.strip():
        raise BadGrid("the file is empty")
    if data.startswith(_OLD_OFFICE):
        raise BadGrid("the file is an old or a password-protected workbook; save it as XLSX or CSV")
    grid = _workbook(data) if data.startswith(_ZIP) else _text(data, filename)
    rows = [(number, cells) for number, cells in grid if any(cells)]
    if not rows:
        raise BadGrid("the file holds no rows")
    if len(rows) > MOST_ROWS + 1:
        raise BadGrid(f"the file has more than {MOST_ROWS} rows; split it")
    widest = max(len(cells) for _, cells in rows)
    if widest > MOST_COLUMNS:
        raise BadGrid(f"the file has {widest} columns, more than {MOST_COLUMNS}")
    return rows


def _text(data: bytes, filename: str) -> list[Row]:
    if filename.lower().endswith((".xlsx", ".xlsm", ".xls")):
        raise BadGrid("the file is named like a workbook but is none; it may be damaged")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise BadGrid("the file is in UTF-16; save it as CSV in UTF-8")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise BadGrid(
            f"line {line} holds a byte (0x{data[error.start]:02x}) that is not UTF-8; save it as CSV in UTF-8"
        ) from None
    if "\0" in text:
        raise BadGrid(
            f"line {text.count(chr(10), 0, text.index(chr(0))) + 1} holds a zero byte; it is no CSV file"
        )
    return max((_separated(text, mark) for mark in ",;\t"), key=_known_headings)


def _known_headings(rows: list[Row]) -> int:
    cells = rows[0][1] if rows else ()
    return sum(isinstance(cell, str) and folded(cell) in BY_HEADING for cell in cells)


def _separated(text: str, mark: str) -> list[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    rows: list[Row] = []
    first = 1
    try:
        for cells in reader:
            # A quoted cell may go over several lines; the row is called by its first.
            rows.append((first, tuple(cell.strip() for cell in cells)))
            first = reader.line_num + 1
            if len(rows) > 2 * MOST_ROWS:
                break
    except csv.Error as error:
        # Only one of the three marks is the file's own: with the others a quote may look misplaced.
        if not rows or _known_headings(rows) < 2:
            return []
        raise BadGrid(f"line {reader.line_num} can't be read as CSV: {error}") from None
    return rows


def _workbook(data: bytes) -> list[Row]:
    _inspect(data)
    import openpyxl

    try:
        with warnings.catch_warnings():
            # About looks that are lost on reading; nothing is written back.
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, keep_links=False)
            if not book.worksheets:
                raise BadGrid("the workbook has no sheet")
            return _sheet_rows(book.worksheets[0])
    except BadGrid:
        raise
    except Exception as error:
        # A damaged workbook makes the library fail in any way; to the person they are one.
        raise BadGrid(f"the workbook can't be read, it may be damaged ({type(error).__name__})") from error


def _inspect(data: bytes) -> None:
    """Refuse what could do harm before anything is interpreted."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = archive.infolist()
            names = {member.filename.lower() for member in members}
            if any("vbaproject" in name for name in names):
                raise BadGrid("the workbook carries macros; save it as XLSX without them")
            if "xl/workbook.xml" not in names:
                raise BadGrid("the file is a ZIP archive but no XLSX workbook")
            unpacked = sum(member.file_size for member in members)
            if len(members) > 1000 or unpacked > MOST_UNPACKED_BYTES:
                raise BadGrid(
                    f"the workbook unpacks to {unpacked / 1024 / 1024:.0f} MB in {len(members)} parts,"
                    f" more than {MOST_UNPACKED_BYTES // 1024 // 1024} MB or 1000; copy the rows to a new one"
                )
            for member in members:
                if member.filename.lower().endswith((".xml", ".rels")):
                    part = archive.read(member)
                    if b"<!DOCTYPE" in part or b"<!ENTITY" in part or b"\0" in part:
                        raise BadGrid("the workbook holds XML that no spreadsheet program writes")
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError, OSError, EOFError) as error:
        raise BadGrid(f"the workbook is damaged or locked with a password ({error})") from None
    except zipfile.zlib.error:  # type: ignore[attr-defined]  # the module that zipfile itself imports
        raise BadGrid("the workbook is damaged: a part of it can't be unpacked") from None


def _sheet_rows(sheet: Any) -> list[Row]:
    rows: list[Row] = []
    for number, cells in enumerate(sheet.iter_rows(), start=1):
        if number > _MOST_EMPTY_ROWS:
            raise BadGrid(f"the sheet goes on beyond row {_MOST_EMPTY_ROWS}; copy the rows to a new one")
        shown = tuple(_shown(cell) for cell in cells)
        if any(shown):
            rows.append((number, shown))
            if len(rows) > MOST_ROWS + 1:
                break
    return rows


def _shown(cell: Any) -> Cell:
    """A cell as a person would type it."""
    value = cell.value
    if value is None:
        return ""
    if cell.data_type == "f":
        return Formula(str(getattr(value, "text", value)))
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else repr(value)
    if isinstance(value, datetime):
        # A cell that shows only a day means no hour, not midnight.
        if value.time() == time() and "h" not in str(cell.number_format).lower():
            return value.date().isoformat()
        return value.isoformat(" ", "minutes" if value.second == value.microsecond == 0 else "seconds")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return value.strftime("%H:%M" if value.second == 0 else "%H:%M:%S")
    if isinstance(value, timedelta):
        minutes, seconds = divmod(round(value.total_seconds()), 60)
        return f"{minutes // 60}:{minutes % 60:02d}" + (f":{seconds:02d}" if seconds else "")
    return str(value).strip()
