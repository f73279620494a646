"""Order pages, the form of a line, the upload of a sheet, the queue and job pages."""

from __future__ import annotations

import base64
import html
import io
import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from scheduler.model import Scenario
from scheduler.office.orders import COLUMNS
from scheduler.store import Record
from tests.web.test_fleet import fields

Post = Callable[..., TestResponse]

LINE = {
    "job": "NEW-1",
    "order": "A-900",
    "customer": "Mielke Lifts",
    "part": "guide shoe",
    "plates": "2",
    "print-time": "2:30",
    "x-mm": "80",
    "y-mm": "60",
    "z-mm": "40",
    "grams": "90",
    "nozzle-mm": "0.4; 0.6",
    "due": "2031-03-07 12:00",
}


@pytest.fixture
def line(worked_scenario: Scenario) -> dict[str, str]:
    return LINE | {"material": worked_scenario.materials[0].id}


def jobs(record: Record) -> list[str]:
    with record.reading() as unit:
        return [job.id for job in unit.fleet.load().jobs]


def test_a_typed_order_becomes_jobs(client: FlaskClient, worked_shop: Record, line: dict[str, str]) -> None:
    answer = client.post("/orders/new", data=fields(client.get("/orders/new").text) | line)
    assert answer.status_code == 303 and answer.location == "/orders/A-900"
    assert jobs(worked_shop)[-2:] == ["NEW-1.1", "NEW-1.2"]
    page = client.get("/orders/A-900").text
    assert "Mielke Lifts" in page and "guide shoe" in page and "not all of it has a place" in page
    assert "NEW-1.1" in client.get("/queue?q=mielke").text


def test_a_bad_line_is_told_by_field(client: FlaskClient, worked_shop: Record, line: dict[str, str]) -> None:
    before = jobs(worked_shop)
    page = fields(client.get("/orders/new").text)
    answer = client.post("/orders/new", data=page | line | {"print-time": "soon", "due": "tomorrow"})
    assert answer.status_code == 422
    assert "soon" in answer.text and "tomorrow is not a day and a time" in answer.text
    assert 'value="guide shoe"' in answer.text
    unknown = client.post("/orders/new", data=page | line | {"material": "unobtainium"})
    assert unknown.status_code == 422 and "unobtainium" in unknown.text
    assert jobs(worked_shop) == before


def test_a_recorded_line_stored_untouched_changes_nothing(
    client: FlaskClient, worked_shop: Record, worked_scenario: Scenario
) -> None:
    for job in worked_scenario.jobs:
        address = f"/queue/lines/{job.id}"
        answer = client.post(address, data=fields(client.get(address).text))
        assert answer.status_code == 303, answer.text
    with worked_shop.reading() as unit:
        assert unit.fleet.load() == worked_scenario


def test_a_line_is_changed_overtaken_and_taken_back(
    client: FlaskClient, worked_shop: Record, worked_scenario: Scenario, post: Post
) -> None:
    free = next(
        job
        for job in worked_scenario.jobs
        if job.progress is None and all(other.same_lot_as != job.id for other in worked_scenario.jobs)
    )
    address = f"/queue/lines/{free.id}"
    seen = fields(client.get(address).text)
    assert client.post(address, data=seen | {"part": "renamed"}).status_code == 303
    late = client.post(address, data=seen | {"part": "lost"})
    assert late.status_code == 409 and "Somebody changed the shop" in late.text
    assert "renamed" in client.get(f"/jobs/{free.id}").text
    assert post(f"{address}/remove", page=address).status_code == 303
    assert free.id not in jobs(worked_shop)
    assert client.get(address).status_code == 404


def sheet(line: dict[str, str]) -> bytes:
    headings = [column.heading for column in COLUMNS]
    values = [line.get(heading.replace(" ", "-"), "") for heading in headings]
    return (",".join(headings) + "\n" + ",".join(values) + "\n").encode()


def test_a_sheet_is_looked_at_before_it_is_stored(
    client: FlaskClient, worked_shop: Record, line: dict[str, str], post: Post
) -> None:
    before = jobs(worked_shop)
    data = sheet(line)
    look = post("/orders/upload", page="/orders/upload", sheet=(io.BytesIO(data), "week.csv"), do="look")
    assert look.status_code == 200 and "NEW-1.1" in look.text and "Nothing is stored yet" in look.text
    assert jobs(worked_shop) == before
    carried = re.search(r'name="carried" value="([^"]+)"', look.text)
    assert carried and base64.b64decode(carried[1]) == data
    stored = post("/orders/upload", page="/orders/upload", carried=carried[1], name="week.csv", do="store")
    assert stored.status_code == 303
    assert jobs(worked_shop) == [*before, "NEW-1.1", "NEW-1.2"]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "Choose a CSV or XLSX file first"),
        (b"\x00\x01\x02 nothing", "nothing of the sheet is stored"),
        (b"job,order\nA,B\n", "nothing of the sheet is stored"),
    ],
)
def test_a_bad_sheet_is_told_and_not_stored(
    client: FlaskClient, worked_shop: Record, post: Post, data: bytes, words: str
) -> None:
    before = jobs(worked_shop)
    for do in ("look", "store"):
        answer = post("/orders/upload", page="/orders/upload", sheet=(io.BytesIO(data), "x.csv"), do=do)
        assert answer.status_code == 422
    assert (
        words
        in post("/orders/upload", page="/orders/upload", sheet=(io.BytesIO(data), "x.csv"), do="look").text
    )
    assert jobs(worked_shop) == before


def test_row_and_column_are_named(
    client: FlaskClient, worked_shop: Record, line: dict[str, str], post: Post
) -> None:
    data = sheet(line | {"grams": "many"})
    answer = post("/orders/upload", page="/orders/upload", sheet=(io.BytesIO(data), "x.csv"), do="look")
    assert answer.status_code == 422 and "row 2, grams: many" in answer.text


def test_templates_can_be_filled(client: FlaskClient, worked_shop: Record) -> None:
    assert client.get("/orders/template.csv").text.lstrip("\ufeff").startswith("job,order")
    assert client.get("/orders/template.xlsx").data[:2] == b"PK"
    assert client.get("/orders/template.pdf").status_code == 404


def test_queue_shows_every_job_and_narrows(
    client: FlaskClient, planned_shop: Record, worked_scenario: Scenario
) -> None:
    page = client.get("/queue").text
    for job in worked_scenario.jobs:
        assert f"/jobs/{job.id}" in page
    one = worked_scenario.jobs[0]
    narrowed = client.get(f"/queue?q={one.id}").text
    assert f"/jobs/{one.id}" in narrowed
    assert len(re.findall(r'href="/jobs/', narrowed)) < len(re.findall(r'href="/jobs/', page))
    assert "Nothing answers to that" in client.get("/queue?q=nosuchthing").text


def test_job_pages_explain(client: FlaskClient, planned_shop: Record, worked_scenario: Scenario) -> None:
    with planned_shop.reading() as unit:
        stored = unit.plans.published()
    assert stored is not None
    for job in worked_scenario.jobs:
        answer = client.get(f"/jobs/{job.id}")
        assert answer.status_code == 200
        assert "Machines that suit it" in answer.text
    for left in stored.plan.unplaced:
        page = html.unescape(client.get(f"/jobs/{left.job}").text)
        assert any(reason.text in page for reason in left.reasons)
    assert client.get("/jobs/none").status_code == 404
    assert client.get("/orders/none").status_code == 404


def test_without_a_shop_pages_say_so(client: FlaskClient) -> None:
    assert "No shop is recorded yet" in client.get("/queue").text
    for address in ("/orders/new", "/orders/upload", "/jobs/any"):
        assert client.get(address).status_code == 404
