"""The floor's pages: what they tell, and what a touch from a form or a device comes to."""

from __future__ import annotations

import re

import pytest
from flask.testing import FlaskClient

from scheduler.floor import short_code
from scheduler.store import Record
from tests.web.conftest import TOKEN, Post
from tests.web.fakes import StandingClock


def test_every_page_opens(client: FlaskClient, planned_shop: Record) -> None:
    with planned_shop.reading() as unit:
        shop = unit.fleet.load()
    addresses = ["/floor", "/floor/spools", "/floor/spools/labels", "/floor/handover"]
    addresses += [f"/floor/machines/{printer.id}" for printer in shop.printers]
    addresses += [f"/floor/dryers/{dryer.id}" for dryer in shop.dryers]
    addresses += [f"/floor/ovens/{oven.id}" for oven in shop.ovens]
    addresses += [f"/floor/judge/{shop.jobs[0].id}", f"/trace/jobs/{shop.jobs[0].id}"]
    addresses += [f"/trace/spools/{shop.spools[0].id}", f"/trace/lots/{shop.spools[0].lot}"]
    for address in addresses:
        assert client.get(address).status_code == 200, address


@pytest.mark.parametrize(
    "what",
    [
        "/floor/machines/",
        "/floor/dryers/",
        "/floor/ovens/",
        "/floor/judge/",
        "/trace/jobs/",
        "/trace/lots/",
        "/trace/spools/",
    ],
)
def test_what_is_not_there_is_said(client: FlaskClient, planned_shop: Record, what: str) -> None:
    answer = client.get(what + "nowhere")
    assert answer.status_code == 404 and "nowhere" in answer.text


def proposed(client: FlaskClient, record: Record) -> tuple[str, str]:
    """A machine that proposes a job, and the job."""
    with record.reading() as unit:
        shop = unit.fleet.load()
    for printer in shop.printers:
        found = re.search(
            r'name="do" value="pull".*?name="job" value="([^"]+)"',
            client.get(f"/floor/machines/{printer.id}").text,
            re.S,
        )
        if found:
            return printer.id, found[1]
    raise AssertionError("no machine proposes anything")


def test_a_pull_is_noted_and_a_scan_goes_on(client: FlaskClient, planned_shop: Record, post: Post) -> None:
    printer, job = proposed(client, planned_shop)
    page = f"/floor/machines/{printer}"
    answer = post("/floor/do", page=page, do="pull", job=job, printer=printer, key="a", back=page)
    assert answer.status_code == 302 and answer.location == page
    shown = client.get(page).text
    assert "Noted: job pulled" in shown and "Scan the spool, or type its code" in shown
    spool = re.search(r"Fetch spool <b>([^<]+)</b>", shown)
    assert spool
    assert f'<b class="code">{short_code(spool[1])}</b>' in shown
    answer = post("/floor/do", page=page, do="mount", job=job, feed="0", code="ZZZZZ", key="b", back=page)
    assert "no spool has the code ZZZZZ" in client.get(page).text


def test_a_device_gets_json_and_the_same_key_counts_once(client: FlaskClient, planned_shop: Record) -> None:
    printer, job = proposed(client, planned_shop)
    token = TOKEN.search(client.get(f"/floor/machines/{printer}").text)
    assert token
    data = {"csrf_token": token[1], "do": "pull", "job": job, "printer": printer, "key": "tap"}
    json = {"Accept": "application/json"}
    first = client.post("/floor/do", data=data, headers=json)
    again = client.post("/floor/do", data=data, headers=json)
    assert (first.json["kind"], again.json["kind"]) == ("taken", "again")  # type: ignore[index]  # a JSON answer
    refused = client.post("/floor/do", data=data | {"key": "other"}, headers=json)
    assert refused.status_code == 409 and f"has {job} on {printer} already" in refused.json["text"]  # type: ignore[index]  # a JSON answer


@pytest.mark.parametrize(
    ("form", "why"),
    [
        ({"do": "fly"}, "there is no step “fly”"),
        ({"do": "pull"}, "the field job is missing"),
        ({"do": "weigh", "code": "x", "gross_g": "heavy"}, "the gross mass is a number, not “heavy”"),
        ({"do": "down", "printer": "x", "until": "soon"}, "is a date and time, not “soon”"),
        ({"do": "undo", "event": "1.5"}, "the step&#39;s number is a whole number"),
        ({"do": "up", "printer": "x", "seen": "ship|x|y"}, "the page&#39;s state can&#39;t be read"),
    ],
)
def test_a_form_that_can_not_be_read_is_told_its_field(
    client: FlaskClient, planned_shop: Record, post: Post, form: dict[str, str], why: str
) -> None:
    answer = post("/floor/do", page="/floor/spools", key="k", back="/floor", **form)
    assert answer.status_code == 302
    assert why in client.get("/floor").text


def test_nobody_is_sent_to_another_site(client: FlaskClient, planned_shop: Record, post: Post) -> None:
    for back in ("https://elsewhere.example/", "//elsewhere.example/"):
        assert post("/floor/do", page="/floor/spools", do="fly", key="k", back=back).location == "/floor"


def test_a_touch_made_without_a_connection_counts_at_its_own_time(
    client: FlaskClient, planned_shop: Record, clock: StandingClock
) -> None:
    from datetime import timedelta

    printer, job = proposed(client, planned_shop)
    token = TOKEN.search(client.get(f"/floor/machines/{printer}").text)
    assert token
    made = clock.now - timedelta(minutes=4)
    data = {
        "csrf_token": token[1],
        "do": "pull",
        "job": job,
        "printer": printer,
        "key": "late",
        "touched_at": made.isoformat(),
    }
    client.post("/floor/do", data=data, headers={"Accept": "application/json"})
    with planned_shop.reading() as unit:
        assert unit.floor.history("job", job)[0].at == made


def test_the_mark_changes_with_each_event(client: FlaskClient, planned_shop: Record, post: Post) -> None:
    before = client.get("/live.json").json
    post("/floor/do", page="/floor/spools", do="hand-over", note="all quiet", key="k")
    assert client.get("/live.json").json != before
    assert "all quiet" in client.get("/floor/handover").text


def test_a_stream_tells_at_once(client: FlaskClient, planned_shop: Record, post: Post) -> None:
    lines = client.get("/live").response
    assert next(iter(lines)) in (b"retry: 2000\n\n", "retry: 2000\n\n")


def test_limits_are_set_by_a_form(client: FlaskClient, planned_shop: Record, post: Post) -> None:
    post("/plan/limits", later_min="45")
    with planned_shop.reading() as unit:
        state = unit.floor.state()
    assert state is not None and (state.publish_alone, state.later_min) == (False, 45)
    assert post("/plan/limits", later_min="often").status_code == 400
    assert post("/plan/limits", later_min="-1").status_code == 409
