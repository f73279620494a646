"""Order sheets that are in order: read, looked at, recorded."""

from __future__ import annotations

import io
from datetime import datetime, time, timedelta
from typing import Any

import openpyxl
import pytest

from scheduler.model import Feed, Scenario
from scheduler.office.orders import (
    COLUMNS,
    apply_orders,
    order_template,
    preview_orders,
    read_orders,
)
from scheduler.office.refused import Refused
from scheduler.office.shop import export_scenario
from scheduler.store import Order, Record
from tests.builders import a_job, a_pin, at
from tests.office.conftest import StandingClock
from tests.office.sheets import GOOD, a_csv, an_xlsx


def jobs(record: Record) -> dict[str, Any]:
    return {job.id: job for job in export_scenario(record).jobs}


def _as_text(sheet: Any, text: str) -> None:
    cell = sheet.cell(row=2, column=list(GOOD).index("part") + 1, value=text)
    cell.data_type = "s"


def load(record: Record, clock: StandingClock, data: bytes, name: str = "week.csv") -> Any:
    return apply_orders(record, clock, read_orders(data, name))


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("start", [b"", b"\xef\xbb\xbf"])
def test_csv_with_any_of_three_marks_is_read(
    shop: Record, clock: StandingClock, mark: str, start: bytes
) -> None:
    load(shop, clock, start + a_csv({}, mark=mark))
    job = jobs(shop)["HB-7"]
    assert (job.order, job.part, job.quantity, job.print_min) == ("2031-118", "lamp bracket", 4, 405)
    assert job.size_mm == (180.0, 120.0, 64.0)
    assert job.feeds == (Feed("ABS", 212.5, (0.4, 0.6), ()),)
    assert job.due.isoformat() == "2031-03-05T16:00:00+01:00"
    assert job.release.isoformat() == "2031-03-03T07:00:00+01:00"
    assert (job.weight, job.anneal, job.finish_min, job.progress) == (1.0, False, 0, None)


def test_every_column_arrives(shop: Record, clock: StandingClock) -> None:
    row = {
        "note": "call first",
        "confidential": "yes",
        "plates": "2",
        "certificates": "food; ISO 10993",
        "second material": "SUP",
        "second grams": "8,5",
        "second nozzle mm": "0.4",
        "second certificates": "food",
        "anneal": "No",
        "finish time": "90",
        "release": "2031-03-04 06:00",
        "weight": "2.5",
        "qualifications": "medical",
        "same lot as": "J1",
    }
    changes = load(shop, clock, a_csv(row))
    assert [job.id for job in changes.added] == ["HB-7.1", "HB-7.2"]
    job = jobs(shop)["HB-7.2"]
    assert job.feeds == (
        Feed("ABS", 212.5, (0.4, 0.6), ("food", "ISO 10993")),
        Feed("SUP", 8.5, (0.4,), ("food",)),
    )
    assert (job.finish_min, job.weight, job.same_lot_as) == (90, 2.5, "J1")
    assert (job.needs_qualified, job.release.isoformat()) == (("medical",), "2031-03-04T06:00:00+01:00")
    with shop.reading() as unit:
        order = unit.orders.get("2031-118")
        assert order == Order("2031-118", "Haldenbach Optik", "call first", True, at(0))
        assert [event.kind for event in unit.events.list()] == ["order noted", "job added", "job added"]


def test_workbook_cells_are_read_as_a_person_sees_them(shop: Record, clock: StandingClock) -> None:
    row = {
        "job": 1042,
        "order": 118.0,
        "x mm": 180.25,
        "print time": time(6, 45),
        "finish time": timedelta(hours=26, minutes=5),
        "due": datetime(2031, 3, 5, 16, 0),
        "confidential": True,
        "anneal": False,
    }
    load(shop, clock, an_xlsx(row), "week.xlsx")
    job = jobs(shop)["1042"]
    assert (job.order, job.size_mm[0], job.print_min, job.finish_min) == ("118", 180.25, 405, 1565)
    assert job.due.isoformat() == "2031-03-05T16:00:00+01:00"
    with shop.reading() as unit:
        order = unit.orders.get("118")
    assert order is not None and order.confidential


def test_the_dry_run_shows_new_changed_and_same_and_stores_nothing(
    shop: Record, clock: StandingClock, scenario: Scenario
) -> None:
    load(shop, clock, a_csv({"job": "A"}, {"job": "B"}))
    recorded = export_scenario(shop)
    clock.now = at(50)
    sheet = read_orders(
        a_csv({"job": "A"}, {"job": "B", "grams": "99", "weight": "2"}, {"job": "C"}), "w.csv"
    )
    changes = preview_orders(shop, sheet, clock)
    assert [job.id for job in changes.added] == ["C"]
    assert [(change.after.id, change.fields) for change in changes.changed] == [("B", ("weight", "feeds"))]
    assert [job.id for job in changes.same] == ["A"]
    assert (changes.orders, changes.messages) == ((), ())
    assert export_scenario(shop) == recorded
    assert apply_orders(shop, clock, sheet) == changes
    assert apply_orders(shop, clock, sheet).same == (
        *changes.same,
        *(c.after for c in changes.changed),
        *changes.added,
    )
    with shop.reading() as unit:
        assert unit.fleet.version() == 4


def test_a_sheet_keeps_pin_and_release_of_a_job_and_blank_notes_of_its_order(
    shop: Record, clock: StandingClock
) -> None:
    before = a_job("HB-7", pinned=a_pin(), release=at(-77), order="2031-118")
    with shop.writing() as unit:
        unit.fleet.save_job(before)
        unit.orders.save(Order("2031-118", "Haldenbach Optik", "soft packing", False, at(-5)))
    load(shop, clock, a_csv({"customer": "", "part": "other part"}))
    after = jobs(shop)["HB-7"]
    assert (after.part, after.pinned, after.release) == ("other part", before.pinned, before.release)
    with shop.reading() as unit:
        order = unit.orders.get("2031-118")
        assert order is not None and (order.customer, order.note) == ("Haldenbach Optik", "soft packing")


def test_a_job_that_no_printer_fits_is_recorded(shop: Record, clock: StandingClock) -> None:
    load(shop, clock, a_csv({"z mm": "5000"}))
    assert jobs(shop)["HB-7"].size_mm[2] == 5000


@pytest.mark.parametrize(
    "data", [a_csv({"part": "=1+1"}), an_xlsx({}, edit=lambda sheet: _as_text(sheet, "=1+1"))]
)
def test_text_that_begins_like_a_formula_stays_text(shop: Record, clock: StandingClock, data: bytes) -> None:
    load(shop, clock, data, "x.xlsx" if data.startswith(b"PK") else "x.csv")
    assert jobs(shop)["HB-7"].part == "=1+1"


def test_headings_may_be_in_any_order_and_capitals_and_lines_may_be_empty(
    shop: Record, clock: StandingClock
) -> None:
    text = a_csv({}).decode().splitlines()
    mixed = text[0].upper().replace("NOZZLE MM", " Nozzle   mm ")
    load(shop, clock, f"{mixed}\n,,\n\n{text[1]}\n\n".encode())
    assert "HB-7" in jobs(shop)


def test_offset_in_a_cell_settles_a_time_that_comes_twice(shop: Record, clock: StandingClock) -> None:
    load(shop, clock, a_csv({"due": "2031-10-26 02:30 +01:00"}))
    assert jobs(shop)["HB-7"].due.isoformat() == "2031-10-26T02:30:00+01:00"


def test_local_times_follow_the_summer(shop: Record, clock: StandingClock) -> None:
    load(shop, clock, a_csv({"due": "2031-07-01 9:05"}))
    assert jobs(shop)["HB-7"].due.isoformat() == "2031-07-01T09:05:00+02:00"


@pytest.mark.parametrize("fmt", ["csv", "xlsx"])
def test_template_can_be_loaded_as_it_is(shop: Record, clock: StandingClock, fmt: Any) -> None:
    sheet = read_orders(order_template(fmt), f"template.{fmt}")
    assert sheet.messages == ()
    assert [job.id for job in preview_orders(shop, sheet, clock).added] == ["HB-7.1", "HB-7.2"]


def test_workbook_template_explains_every_column() -> None:
    book = openpyxl.load_workbook(io.BytesIO(order_template("xlsx")))
    assert book.sheetnames == ["Orders", "Columns"]
    rows = list(book["Columns"].iter_rows(min_row=2, values_only=True))
    assert [row[0] for row in rows] == [column.heading for column in COLUMNS]
    assert all(row[2] for row in rows)
    assert [cell.value for cell in book["Orders"][1]] == [column.heading for column in COLUMNS]


def test_there_are_two_kinds_of_template() -> None:
    with pytest.raises(ValueError, match="pdf"):
        order_template("pdf")  # type: ignore[arg-type]  # what a wrong address would ask for


def test_a_refused_sheet_tells_every_line_at_once(shop: Record, clock: StandingClock) -> None:
    data = a_csv({"job": "A", "grams": "none"}, {"job": "B", "due": "soon", "x mm": "-3"}, {"job": "C"})
    with pytest.raises(Refused) as caught:
        load(shop, clock, data)
    assert str(caught.value).splitlines() == [
        "row 2, grams: none is not a number",
        "row 3, x mm: -3 is negative",
        "row 3, due: soon is not a day and a time; write it like 2031-03-05 16:00",
    ]
