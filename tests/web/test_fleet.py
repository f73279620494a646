"""The fleet's pages and forms."""

from __future__ import annotations

import html
import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from scheduler.model import Scenario
from scheduler.store import Record

Post = Callable[..., TestResponse]

KINDS = ("printers", "dryers", "ovens", "materials", "spools")


def fields(page: str) -> dict[str, str]:
    """What a browser would send of the first form: every field with its value, ticks only if set."""
    begins = page.index('<form class="sheet"')
    form = page[begins : page.index("</form>", begins)]
    found: dict[str, str] = {}
    for tag in re.findall(r"<input [^>]*>", form):
        attributes = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        if attributes.get("type") == "checkbox" and " checked" not in tag:
            continue
        found[html.unescape(attributes["name"])] = html.unescape(attributes.get("value", ""))
    for name, inside in re.findall(r'<select id="[^"]*" name="([^"]*)"[^>]*>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', inside)
        first = re.search(r'<option value="([^"]*)"', inside)
        found[name] = (chosen or first)[1] if (chosen or first) else ""
    return found


def test_everything_has_a_row_that_leads_to_its_page(
    client: FlaskClient, planned_shop: Record, worked_scenario: Scenario
) -> None:
    page = client.get("/fleet").text
    for kind in KINDS:
        for thing in getattr(worked_scenario, kind):
            assert f'href="/fleet/{kind}/{thing.id}"' in page
            assert client.get(f"/fleet/{kind}/{thing.id}").status_code == 200


def test_single_pages_tell_what_the_plan_does(client: FlaskClient, planned_shop: Record) -> None:
    with planned_shop.reading() as unit:
        stored = unit.plans.published()
    assert stored is not None
    planned = stored.plan.jobs[0]
    assert f"/jobs/{planned.job}" in client.get(f"/fleet/printers/{planned.printer}").text
    assert f"/jobs/{planned.job}" in client.get(f"/fleet/spools/{planned.feeds[0].spool}").text
    run = stored.plan.dryer_runs[0]
    assert run.id in client.get(f"/fleet/dryers/{run.dryer}").text


@pytest.mark.parametrize("kind", KINDS)
def test_a_form_stored_untouched_changes_nothing(
    client: FlaskClient, worked_shop: Record, worked_scenario: Scenario, kind: str
) -> None:
    for thing in getattr(worked_scenario, kind):
        address = f"/fleet/{kind}/{thing.id}/edit"
        answer = client.post(address, data=fields(client.get(address).text))
        assert answer.status_code == 303, answer.text
    with worked_shop.reading() as unit:
        assert unit.fleet.load() == worked_scenario


def test_a_changed_figure_is_recorded(
    client: FlaskClient, worked_shop: Record, worked_scenario: Scenario
) -> None:
    spool = worked_scenario.spools[0]
    address = f"/fleet/spools/{spool.id}/edit"
    sent = fields(client.get(address).text) | {"grams": "123.5", "certs": "food, batch-report"}
    assert client.post(address, data=sent).status_code == 303
    with worked_shop.reading() as unit:
        changed = unit.fleet.load().spools[0]
        kinds = [event.kind for event in unit.events.list()]
    assert (changed.grams, changed.certs) == (123.5, ("food", "batch-report"))
    assert kinds.count("spool changed") == 1
    page = client.get(f"/fleet/spools/{spool.id}").text
    assert "123.5 g" in page and "food, batch-report" in page


def test_a_bad_figure_is_told_at_its_field_and_nothing_is_stored(
    client: FlaskClient, worked_shop: Record, worked_scenario: Scenario
) -> None:
    material = worked_scenario.materials[0]
    address = f"/fleet/materials/{material.id}/edit"
    sent = fields(client.get(address).text) | {"bed_c.0": "400", "soak_min": "ten", "open_time_min": "-4"}
    answer = client.post(address, data=sent)
    assert answer.status_code == 422
    for name, value in (("bed_c", "400"), ("soak_min", "ten"), ("open_time_min", "-4")):
        assert f"<code>{name}" in answer.text and value in answer.text
    assert 'aria-invalid="true"' in answer.text and 'value="ten"' in answer.text
    with worked_shop.reading() as unit:
        assert unit.fleet.load() == worked_scenario


def test_a_form_that_somebody_overtook_is_told_so(
    client: FlaskClient, worked_shop: Record, worked_scenario: Scenario
) -> None:
    spool = worked_scenario.spools[0].id
    address = f"/fleet/spools/{spool}/edit"
    first = fields(client.get(address).text)
    assert client.post(address, data=first | {"grams": "100"}).status_code == 303
    late = client.post(address, data=first | {"grams": "700"})
    assert late.status_code == 409
    assert "Somebody changed the shop" in late.text and 'value="700"' in late.text
    with worked_shop.reading() as unit:
        assert unit.fleet.load().spools[0].grams == 100


def test_things_are_added_and_taken_out(
    client: FlaskClient, worked_shop: Record, worked_scenario: Scenario, post: Post
) -> None:
    like = worked_scenario.spools[0]
    sent = fields(client.get(f"/fleet/spools/{like.id}/edit").text)
    sent["seen"] = fields(client.get("/fleet/spools/new").text)["seen"]
    again = client.post("/fleet/spools/new", data=sent)
    assert again.status_code == 422 and "already" in again.text
    assert client.post("/fleet/spools/new", data=sent | {"id": "fresh"}).status_code == 303
    assert client.get("/fleet/spools/fresh").status_code == 200
    assert post("/fleet/spools/fresh/remove", page="/fleet/spools/fresh/edit").status_code == 303
    assert client.get("/fleet/spools/fresh").status_code == 404
    material = like.material
    refused = post(f"/fleet/materials/{material}/remove", page=f"/fleet/materials/{material}/edit")
    assert refused.status_code == 409 and "still needed" in refused.text
    with worked_shop.reading() as unit:
        assert unit.fleet.load() == worked_scenario


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("/fleet/spools/none", "There is no spool none"),
        ("/fleet/robots/one", "The fleet has no robots"),
        ("/fleet/printers/none/edit", "There is no printer none"),
    ],
)
def test_what_is_not_there_is_told_in_words(
    client: FlaskClient, worked_shop: Record, address: str, words: str
) -> None:
    answer = client.get(address)
    assert answer.status_code == 404 and words in answer.text


def test_an_empty_record_says_how_to_begin(client: FlaskClient) -> None:
    assert "No shop is recorded yet" in client.get("/fleet").text
    assert client.get("/fleet/spools/any").status_code == 404
