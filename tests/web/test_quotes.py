"""The quote desk's pages: ask, answer, hold, accept; the paper; the customer's link."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, timedelta
from typing import Any

import pytest
from flask.testing import FlaskClient

from scheduler.office.quotes import drafts, promises
from scheduler.office.quotes.ground import ground_of
from scheduler.quoting.ways import CHANCES
from scheduler.store import PrintEnd, Record
from tests.builders import at
from tests.office.quotes.conftest import publish, small_shop
from tests.web.fakes import StandingClock
from tests.web.seats import seat
from web.cookies import SEAT
from web.quotes.dots import plot
from web.quotes.links import GOOD_FOR, BadLink, read_token, token_of

Post = Callable[..., Any]
LINE = {
    "customer": "Marlow Pumps",
    "contact": "Ina Reyes",
    "part-1": "bracket",
    "quantity-1": "2",
    "material-1": "ABS",
    "x-1": "40",
    "y-1": "40",
    "z-1": "30,5",
    "time-1": "3:00",
    "grams-1": "60",
    "nozzle-1": "0.4",
}


@pytest.fixture
def shop(record: Record, clock: StandingClock) -> Record:
    clock.now = at(0)
    publish(record, small_shop())
    return record


@pytest.fixture
def number(shop: Record, post: Post) -> int:
    answer = post("/quotes/new", page="/quotes/new", **LINE)
    assert answer.status_code == 303
    found = re.fullmatch(r"/quotes/(\d+)/answer", answer.location)
    assert found
    return int(found[1])


def held(client: FlaskClient, post: Post, number: int) -> None:
    page = client.get(f"/quotes/{number}/answer").text
    limit = re.search(r'name="no-later-than" value="([^"]+)"', page)
    assert limit
    form = {"way": "as planned", "chance": "0.8", "until": "2031-03-03T06:30", "no-later-than": limit[1]}
    answer = post(f"/quotes/{number}/hold", page=f"/quotes/{number}/answer", **form)
    assert answer.status_code == 303


def test_every_page_without_a_shop_or_plan_says_so(
    client: FlaskClient, worked_shop: Record, post: Post
) -> None:
    assert client.get("/quotes").status_code == 200
    assert "no plan is published" in client.get("/quotes/dates").text
    assert post("/quotes/new", page="/quotes/new", **{**LINE, "material-1": "PPSU"}).status_code in (303, 422)
    assert client.get("/quotes/99").status_code == 404
    assert client.get("/quotes/99/answer").status_code == 404


def test_an_answer_has_a_date_its_reasons_and_its_chances(client: FlaskClient, number: int) -> None:
    page = client.get(f"/quotes/{number}/answer").text
    for words in ("As planned", "What holds it up", "equally likely finishes", "Which machines could do it"):
        assert words in page
    dots = page.count("dot-kept") + page.count("dot-late")
    assert dots >= 50 and dots % 50 == 0
    assert "style=" not in page and "<script" not in page
    other = client.get(f"/quotes/{number}/answer?chance=0.95").text
    assert "kept 95 times in 100" in other


def test_a_held_quote_becomes_an_order(client: FlaskClient, number: int, post: Post, shop: Record) -> None:
    held(client, post, number)
    page = client.get(f"/quotes/{number}").text
    assert "held until Mon 06:30" in page and "Price, for the staff alone" in page
    assert post(f"/quotes/{number}/accept", page=f"/quotes/{number}").status_code == 303
    assert "accepted" in client.get(f"/quotes/{number}").text
    assert client.get(f"/orders/Q-{number}").status_code == 200
    assert "Marlow Pumps" in client.get("/quotes?q=marlow&state=accepted").text
    assert "Nothing answers" in client.get("/quotes?q=osei").text
    assert f"Q-{number}" in client.get("/quotes/dates?all=yes").text


def test_a_hold_that_ended_shows_as_such(
    client: FlaskClient, number: int, post: Post, clock: StandingClock
) -> None:
    held(client, post, number)
    clock.now = at(31)
    assert "hold ended" in client.get(f"/quotes/{number}").text
    answer = post(f"/quotes/{number}/accept", page=f"/quotes/{number}/edit")
    assert "is expired" in client.get(answer.location).text


def test_bad_forms_name_every_place(client: FlaskClient, shop: Record, post: Post) -> None:
    bad = {**LINE, "customer": "", "time-1": "three", "x-1": "wide", "quantity-1": "-2", "nozzle-1": "fine"}
    answer = post("/quotes/new", page="/quotes/new", **bad)
    assert answer.status_code == 422
    for words in ("line 1: print time", "line 1: x", "line 1: quantity", "line 1: nozzle"):
        assert words in answer.text
    assert post("/quotes/new", page="/quotes/new", customer="Marlow").status_code == 422
    unknown = post("/quotes/new", page="/quotes/new", **{**LINE, "material-1": "wood"})
    assert unknown.status_code == 422 and "wood" in unknown.text
    assert 'value="Marlow Pumps"' in unknown.text


def test_bad_holds_are_told_and_store_nothing(client: FlaskClient, number: int, post: Post) -> None:
    page = f"/quotes/{number}/answer"
    bad = post(f"/quotes/{number}/hold", page=page, until="soon", way="as planned")
    assert "not a day and a time" in client.get(bad.location).text
    assert post(f"/quotes/{number}/hold", page=page, until="2031-03-03T06:30", way="free").status_code == 400
    early = post(f"/quotes/{number}/hold", page=page, until="2031-03-01T06:30", way="as planned")
    assert "before now" in client.get(early.location).text


def test_paper_and_pdf_show_the_offer_without_its_breakdown(
    client: FlaskClient, number: int, post: Post
) -> None:
    assert client.get(f"/quotes/{number}/quote.pdf").status_code == 404
    held(client, post, number)
    page = client.get(f"/quotes/{number}/paper").text
    assert "Ready at the shop by" in page and "VAT 20 %" in page and "machines," not in page
    pdf = client.get(f"/quotes/{number}/quote.pdf")
    assert pdf.status_code == 200 and pdf.data.startswith(b"%PDF") and pdf.mimetype == "application/pdf"


def test_a_link_shows_one_quote_until_it_is_taken_back(
    client: FlaskClient, number: int, post: Post, clock: StandingClock
) -> None:
    other = post("/quotes/new", page="/quotes/new", **{**LINE, "customer": "Osei Optics"})
    assert other.status_code == 303
    held(client, post, number)
    post(f"/quotes/{number}/accept", page=f"/quotes/{number}")
    given = post(f"/quotes/{number}/link", page=f"/quotes/{number}")
    token = given.location.split("link=")[1]
    page = client.get(f"/progress/{token}").text
    assert f"Progress of Q-{number}" in page and "in the plan" in page
    assert "Osei" not in page and "J1" not in page and "/quotes" not in page and "machines," not in page
    assert client.get(f"/progress/{token}x").status_code == 404
    clock.now = at(0) + GOOD_FOR + timedelta(minutes=1)
    assert client.get(f"/progress/{token}").status_code == 404
    clock.now = at(5)
    again = post(f"/quotes/{number}/link", page=f"/quotes/{number}").location.split("link=")[1]
    assert client.get(f"/progress/{token}").status_code == 404
    assert client.get(f"/progress/{again}").status_code == 200
    post(f"/quotes/{number}/link/revoke", page=f"/quotes/{number}")
    assert client.get(f"/progress/{again}").status_code == 404


def test_a_token_holds_only_with_its_secret() -> None:
    token = token_of("secret", 7, 2, at(0))
    assert read_token("secret", token, at(10)) == (7, 2)
    with pytest.raises(BadLink):
        read_token("other", token, at(10))
    with pytest.raises(BadLink):
        read_token("secret", "nonsense", at(10))


def test_the_price_sheet_is_set_and_faults_are_told(client: FlaskClient, shop: Record, post: Post) -> None:
    page = client.get("/quotes/prices").text
    fields = dict(re.findall(r'<input id="f-(\w+)"[^>]*? value="([^"]*)"', page))
    areas = dict(re.findall(r'<textarea id="f-(\w+)"[^>]*>([^<]*)</textarea>', page))
    form = {**fields, **areas, "tax_percent": "19", "machines": "0: 5.50\n90: 12"}
    assert post("/quotes/prices", page="/quotes/prices", **form).status_code == 303
    sheet = drafts.sheet_now(shop)
    assert (str(sheet.tax_percent), sheet.machine_h_cents) == ("19", {0: 550, 90: 1200})
    bad = post(
        "/quotes/prices", page="/quotes/prices", **{**form, "machines": "hot 5", "minimum_cents": "1.005"}
    )
    assert bad.status_code == 422 and "no colon" in bad.text and "parts of a cent" in bad.text
    assert drafts.sheet_now(shop) == sheet


def test_what_was_learnt_is_set_aside_and_used_again(
    client: FlaskClient, number: int, post: Post, shop: Record, clock: StandingClock
) -> None:
    for n in range(30):
        promises.record_print_end(shop, clock, PrintEnd(at(n), f"J{n}", "P1", "ABS", 100.0, 150.0, False))
    clock.now = at(40)
    client.set_cookie(SEAT, seat(shop, clock))
    assert "Used for dates" in client.get("/quotes/learning").text
    assert ground_of(shop, clock).factors["ABS"] > 1.3
    assert post("/quotes/learning/use", page="/quotes/learning", used="no").status_code == 303
    page = client.get("/quotes/learning").text
    assert "Set aside" in page and "Would be used" in page and "× 1.4" in page
    ground = ground_of(shop, clock)
    assert (
        ground.factors == {}
        and ground.learning is None
        and ground.variation.levels == {chance: chance for chance in CHANCES}
    )
    assert post("/quotes/learning/use", page="/quotes/learning", used="yes").status_code == 303
    assert ground_of(shop, clock).factors["ABS"] > 1.3


def test_learning_is_shown_and_begun_anew(
    client: FlaskClient, number: int, post: Post, shop: Record, clock: StandingClock
) -> None:
    held(client, post, number)
    post(f"/quotes/{number}/accept", page=f"/quotes/{number}")
    assert "No print has ended" in client.get("/quotes/learning").text
    for n in range(30):
        promises.record_print_end(shop, clock, PrintEnd(at(n), f"J{n}", "P1", "ABS", 100.0, 130.0, False))
    with shop.writing() as unit:
        assert promises.note_order_done(unit, f"Q-{number}", at(60), at(60))
        assert not promises.note_order_done(unit, f"Q-{number}", at(60), at(60))
    clock.now = at(20 * 24 * 60)
    client.set_cookie(SEAT, seat(shop, clock))
    page = client.get("/quotes/learning").text
    assert "× 1.3" in page and "80 %" in page and "100 %" in page
    assert post("/quotes/learning/reset", page="/quotes/learning").status_code == 303
    assert "Begun anew" in client.get("/quotes/learning").text
    told = promises.lessons(shop, clock)
    assert told.rates == () and told.learning is not None and told.learning.cells == ()


def test_dots_after_the_promise_are_rings() -> None:
    dots = [at(10 * n) for n in range(50)]
    drawn = plot(dots, at(395), UTC)
    assert drawn.content.count("dot-kept") == 40 and drawn.content.count("dot-late") == 10
    assert drawn.told.startswith("40 of 50") and "Past promises" not in drawn.told
    moved = plot(dots, at(445), UTC, moved=0.1)
    assert moved.told.startswith("45 of 50") and moved.told.endswith(
        "than they said, so this one lies later."
    )


def test_the_answer_comes_in_figures_too(client: FlaskClient, number: int, post: Post) -> None:
    told = client.get(f"/quotes/{number}/answer.json").json
    assert told is not None and told["ways"][0]["way"] == "as planned"
    assert told["ways"][0]["planned_for"] <= told["ways"][0]["by"]["0.5"] <= told["ways"][0]["by"]["0.95"]
    held(client, post, number)
    again = client.get(f"/quotes/{number}/answer.json")
    assert again.status_code == 409 and again.json is not None and "is held" in again.json["message"]
    assert client.get("/quotes/77/answer.json").status_code == 404


def test_what_would_help_is_tried_and_dated(client: FlaskClient, shop: Record, post: Post) -> None:
    wish = {**LINE, "wanted": "2031-03-03T08:00"}
    number = int(post("/quotes/new", page="/quotes/new", **wish).location.split("/")[2])
    page = client.get(f"/quotes/{number}/answer").text
    assert "Not by the wish of" in page and "Try what would help" in page
    path = f"/quotes/{number}/openings"
    assert "Tried are: another job that makes room" in client.get(path).text
    answer = post(path, page=path, chance="0.8")
    assert answer.status_code == 303
    page = client.get(answer.location).text
    assert "With nothing changed it is done by" in page and "A machine more: one more machine like P1" in page
    assert "after it" in page
    assert client.get("/quotes/999/openings").status_code == 404


def test_a_quote_without_a_place_leads_to_the_trials(client: FlaskClient, shop: Record, post: Post) -> None:
    huge = {**LINE, "x-1": "4000"}
    number = int(post("/quotes/new", page="/quotes/new", **huge).location.split("/")[2])
    assert "Try what would help" in client.get(f"/quotes/{number}/answer").text
    path = f"/quotes/{number}/openings"
    page = client.get(post(path, page=path, chance="0.8").location).text
    assert "With nothing changed it has no place" in page and "Nothing that was tried" in page


def test_a_quote_shows_what_became_of_its_overtime(
    client: FlaskClient, shop: Record, clock: StandingClock, post: Post
) -> None:
    number = int(
        post(
            "/quotes/new", page="/quotes/new", **{**LINE, "quantity-1": "1", "time-1": "5:00"}
        ).location.split("/")[2]
    )
    form = {"way": "sooner", "chance": "0.8", "until": "2031-03-03T06:30"}
    post(f"/quotes/{number}/hold", page=f"/quotes/{number}/answer", **form)
    assert "One person works" in client.get(f"/quotes/{number}").text
    clock.now = at(30)
    page = client.get(f"/quotes/{number}").text
    assert "Overtime of the hold." in page and "is taken back." in page
