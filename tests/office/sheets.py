"""Order sheets for tests: CSV text and workbooks from rows, and workbooks that were tampered with."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable
from typing import Any

import openpyxl

#: A row that is in order, by heading.
GOOD: dict[str, Any] = {
    "job": "HB-7",
    "order": "2031-118",
    "customer": "Haldenbach Optik",
    "part": "lamp bracket",
    "plates": "1",
    "parts on a plate": "4",
    "print time": "6:45",
    "x mm": "180",
    "y mm": "120",
    "z mm": "64",
    "material": "ABS",
    "grams": "212.5",
    "nozzle mm": "0.4; 0.6",
    "due": "2031-03-05 16:00",
}


def a_csv(
    *rows: dict[str, Any], mark: str = ",", without: tuple[str, ...] = (), more: tuple[str, ...] = ()
) -> bytes:
    """A CSV file of the good row with each row's changes; ``more`` are headings beyond."""
    headings = [*(heading for heading in GOOD if heading not in without)]
    headings += [heading for row in rows for heading in row if heading not in headings]
    headings = [*dict.fromkeys(headings), *more]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=mark)
    writer.writerow(headings)
    for row in rows or ({},):
        writer.writerow([{**GOOD, **row}.get(heading, "") for heading in headings])
    return out.getvalue().encode()


def an_xlsx(*rows: dict[str, Any], edit: Callable[[Any], None] | None = None) -> bytes:
    """A workbook of the good row with each row's changes, edited at the end."""
    headings = list(dict.fromkeys([*GOOD, *(heading for row in rows for heading in row)]))
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.append(headings)
    for row in rows or ({},):
        sheet.append([{**GOOD, **row}.get(heading) for heading in headings])
    if edit:
        edit(sheet)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def repacked(workbook: bytes, change: Callable[[str, bytes], bytes], **more: bytes) -> bytes:
    """A workbook with its parts changed, and more parts (``__`` for a slash, ``_`` for the dot)."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, change(name, old.read(name)))
        for name, data in more.items():
            new.writestr(name.replace("__", "/").replace("_", "."), data)
    return out.getvalue()
