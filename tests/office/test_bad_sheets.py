"""Order sheets that are not in order: each kind has its message, and nothing of it is stored."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from datetime import datetime

import pytest

from scheduler.model import Scenario
from scheduler.office.orders import apply_orders, preview_orders, read_orders
from scheduler.office.orders.grids import MOST_ROWS
from scheduler.office.refused import Refused
from scheduler.office.shop import export_scenario
from scheduler.store import Record
from tests.office.conftest import StandingClock
from tests.office.sheets import GOOD, a_csv, an_xlsx, repacked


def _bomb() -> bytes:
    return repacked(an_xlsx(), lambda name, part: part, xl__media_xml=b" " * (65 * 1024 * 1024))


def _entities(name: str, part: bytes) -> bytes:
    if not name.endswith("sheet1.xml"):
        return part
    head, rest = part.split(b"?>", 1) if part.startswith(b"<?xml") else (b"", part)
    return (head + b"?>" if head else b"") + b'<!DOCTYPE x [<!ENTITY a "aaaa">]>' + rest


def _cut(name: str, part: bytes) -> bytes:
    return part[: len(part) // 2] if name.endswith("sheet1.xml") else part


def _archive() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("notes.txt", "no workbook")
    return out.getvalue()


CSV: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "the file is empty"),
    "blank": (b" \n\n ", "the file is empty"),
    "no rows": (a_csv({}).splitlines()[0], "a heading but no order lines"),
    "empty cells only": (b",,,\n,,,\n", "holds no rows"),
    "too large": (b"x" * (4 * 1024 * 1024 + 1), "4.0 MB, more than 4 MB"),
    "too many rows": (a_csv(*[{}] * (MOST_ROWS + 1)), f"more than {MOST_ROWS} rows"),
    "latin 1": (
        a_csv({}, {"part": "Hülse"}).decode().encode("latin-1"),
        "line 3 holds a byte (0xfc) that is not UTF-8",
    ),
    "utf 16": (a_csv({}).decode().encode("utf-16"), "is in UTF-16"),
    "zero byte": (a_csv({"part": "a\0b"}), "line 2 holds a zero byte"),
    "open quote": (a_csv({}) + b'"A,never closed\n', "line 3 can't be read as CSV"),
    "old workbook": (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(500),
        "an old or a password-protected workbook",
    ),
    "heading twice": (a_csv({}, more=("grams",)), "row 1: grams is there twice as a heading"),
    "unknown heading": (a_csv({}, more=("colour",)), "row 1: colour is not a heading of an order sheet"),
    "missing heading": (a_csv({}, without=("grams",)), "row 1: the column grams is missing"),
    "no headings at all": (b"a,b\n1,2\n", "row 1: the column job is missing"),
    "cell without heading": (
        a_csv({}).rstrip() + b",stray\n",
        "row 2: stray stands in column 15, which has no heading",
    ),
    "missing value": (a_csv({"part": ""}), "row 2, part: is empty"),
    "long text": (a_csv({"part": "x" * 501}), "row 2, part: xxx"),
    "line break": (a_csv({"part": "two\nlines"}), "row 2, part: 'two\\nlines' holds characters"),
    "words for a number": (a_csv({"grams": "some"}), "row 2, grams: some is not a number"),
    "unit in a number": (a_csv({"grams": "212 g"}), "row 2, grams: 212 g is not a number"),
    "power of ten": (a_csv({"grams": "1e3"}), "row 2, grams: 1e3 is not a number"),
    "not a number": (a_csv({"grams": "nan"}), "row 2, grams: nan is not a number"),
    "thousands": (a_csv({"grams": "1,500"}), "row 2, grams: 1,500 could mean thousands or decimals"),
    "negative": (a_csv({"grams": "-5"}), "row 2, grams: -5 is negative"),
    "nothing": (a_csv({"grams": "0"}), "row 2, grams: 0 is not above 0"),
    "astronomical": (a_csv({"z mm": "9" * 30}), "row 2, z mm: 999999999999999999999999999999 is too large"),
    "part of a plate": (a_csv({"plates": "1.5"}), "row 2, plates: 1.5 is not a whole number"),
    "too many plates": (a_csv({"plates": "501"}), "row 2, plates: 501 is more than 500 in one line"),
    "strange time": (a_csv({"print time": "6h45"}), "row 2, print time: 6h45 is not a time such as 3:30"),
    "61 minutes": (a_csv({"print time": "6:61"}), "row 2, print time: 6:61 is not a time such as 3:30"),
    "half minutes": (
        a_csv({"print time": "6.75"}),
        "row 2, print time: 6.75 is not a whole number of minutes",
    ),
    "maybe": (a_csv({"anneal": "maybe"}), "row 2, anneal: maybe is neither yes nor no"),
    "tag twice": (a_csv({"certificates": "food; food"}), "row 2, certificates: food; food names food twice"),
    "nozzle in inches": (a_csv({"nozzle mm": '0.4; 1/64"'}), 'row 2, nozzle mm: 0.4; 1/64" is not a number'),
    "half a second feed": (
        a_csv({"second grams": "5"}),
        "row 2, second material: is empty, though second grams is filled in",
    ),
    "day alone": (a_csv({"due": "2031-03-05"}), "row 2, due: 2031-03-05 has no time of the day"),
    "day turned round": (
        a_csv({"due": "05.03.2031 16:00"}),
        "row 2, due: 05.03.2031 16:00 is not a day and a time",
    ),
    "30 February": (
        a_csv({"due": "2031-02-30 16:00"}),
        "row 2, due: 2031-02-30 16:00 is no day of the calendar",
    ),
    "25 o'clock": (
        a_csv({"due": "2031-03-05 25:00"}),
        "row 2, due: 2031-03-05 25:00 is no day of the calendar",
    ),
    "clocks forward": (
        a_csv({"due": "2031-03-30 02:30"}),
        "row 2, due: 2031-03-30 02:30 does not exist in Europe/Berlin: clocks are put forward",
    ),
    "clocks back": (
        a_csv({"release": "2031-10-26 02:30"}),
        "row 2, release: 2031-10-26 02:30 comes twice in Europe/Berlin, as clocks are put back:"
        " add the offset, +02:00 for the first or +01:00 for the second",
    ),
    "unknown material": (
        a_csv({}, {"job": "B", "material": "XYZ"}),
        "row 3, material: job B: there is no material XYZ",
    ),
    "unknown lot partner": (a_csv({"same lot as": "J9"}), "row 2, same lot as: job HB-7: there is no job J9"),
    "job twice": (a_csv({}, {"part": "other"}), "row 3, job: HB-7 is asked for in row 2 already"),
    "plate names clash": (
        a_csv({"plates": "2"}, {"job": "HB-7.2"}),
        "row 3, job: HB-7.2 is asked for in row 2 already",
    ),
    "two customers": (
        a_csv({}, {"job": "B", "customer": "Other"}),
        "row 3, customer: Other differs from row 2 of the same order 2031-118",
    ),
    "workbook in name only": (b"job,order\n", "named like a workbook but is none"),
}

XLSX: dict[str, tuple[Callable[[], bytes], str]] = {
    "formula": (
        lambda: an_xlsx({"grams": "=100+112"}),
        "row 2, grams: =100+112 is a formula; put its value there",
    ),
    "formula in the heading": (
        lambda: an_xlsx(edit=lambda sheet: sheet.cell(row=1, column=1, value='=CONCATENATE("j","ob")')),
        "is not a heading of an order sheet",
    ),
    "day alone": (
        lambda: an_xlsx({"due": datetime(2031, 3, 5)}, edit=lambda s: _format(s, "due", "yyyy-mm-dd")),
        "row 2, due: 2031-03-05 has no time of the day",
    ),
    "seconds": (
        lambda: an_xlsx({"due": datetime(2031, 3, 5, 16, 0, 9)}),
        "row 2, due: 2031-03-05 16:00:09 is not",
    ),
    "truncated": (lambda: an_xlsx()[:-400], "the workbook is damaged"),
    "cut sheet": (lambda: repacked(an_xlsx(), _cut), "the workbook can't be read"),
    "macros": (lambda: repacked(an_xlsx(), lambda n, p: p, xl__vbaProject_bin=b"x"), "carries macros"),
    "other archive": (_archive, "a ZIP archive but no XLSX workbook"),
    "unpacks to too much": (_bomb, "unpacks to 65 MB"),
    "entities": (lambda: repacked(an_xlsx(), _entities), "XML that no spreadsheet program writes"),
    "far row": (
        lambda: an_xlsx(edit=lambda sheet: sheet.cell(row=900_000, column=1, value="x")),
        "goes on beyond row 100000",
    ),
    "too many columns": (
        lambda: an_xlsx(edit=lambda sheet: sheet.cell(row=1, column=300, value="x")),
        "300 columns, more than 200",
    ),
    "too many rows": (lambda: an_xlsx(*[{}] * (MOST_ROWS + 1)), f"more than {MOST_ROWS} rows"),
    "error value": (lambda: an_xlsx({"grams": "#DIV/0!"}), "row 2, grams: #DIV/0! is not a number"),
}


def _format(sheet: object, heading: str, shown: str) -> None:
    sheet.cell(row=2, column=list(GOOD).index(heading) + 1).number_format = shown  # type: ignore[attr-defined]  # openpyxl has no types


def refused(shop: Record, clock: StandingClock, data: bytes, name: str) -> str:
    """The messages of a sheet, which must be the same when looked at and when loaded, and store nothing."""
    before = export_scenario(shop)
    sheet = read_orders(data, name)
    shown = "\n".join(str(message) for message in preview_orders(shop, sheet, clock).messages)
    with pytest.raises(Refused) as caught:
        apply_orders(shop, clock, sheet)
    assert str(caught.value) == shown
    assert export_scenario(shop) == before
    with shop.reading() as unit:
        assert unit.fleet.version() == 1
        assert unit.events.list() == ()
    return shown


@pytest.mark.parametrize("kind", CSV)
def test_bad_csv(shop: Record, clock: StandingClock, kind: str) -> None:
    data, says = CSV[kind]
    name = "week.xlsx" if kind == "workbook in name only" else "week.csv"
    assert says in refused(shop, clock, data, name)


@pytest.mark.parametrize("kind", XLSX)
def test_bad_xlsx(shop: Record, clock: StandingClock, kind: str) -> None:
    make, says = XLSX[kind]
    assert says in refused(shop, clock, make(), "week.xlsx")


def test_a_good_row_beside_a_bad_one_is_not_stored(
    shop: Record, clock: StandingClock, scenario: Scenario
) -> None:
    text = refused(shop, clock, a_csv({"job": "A"}, {"job": "B", "material": "XYZ"}), "week.csv")
    assert text == "row 3, material: job B: there is no material XYZ"
    assert export_scenario(shop) == scenario


@pytest.mark.parametrize("size", range(0, 6000, 97))
def test_a_workbook_cut_anywhere_gets_a_message(size: int) -> None:
    whole = an_xlsx()
    if size < len(whole) - 22:
        sheet = read_orders(whole[:size], "week.xlsx")
        assert len(sheet.messages) == 1 and sheet.rows == ()
