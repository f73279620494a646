"""Signing in and out over HTTP: password, one-time link, PIN at a shared tablet, screens, own secrets."""

from __future__ import annotations

import re
from datetime import timedelta
from urllib.parse import quote

import pytest
from argon2 import PasswordHasher
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from scheduler.model import Plan
from scheduler.office import people
from scheduler.people import hashing
from scheduler.store import Order, Record
from tests.builders import at
from tests.web.conftest import TOKEN, ClientAs
from tests.web.fakes import NotingRunner, StandingClock
from tests.web.seats import seat
from web import create_app
from web.cookies import SEAT, TABLET
from web.guard import LONGEST_NEXT, RENEWAL, safe_next

PASSWORD = "seven kettles sing"
PIN = "2749"


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hashing, "_HASHER", PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    hashing._nobody.cache_clear()


@pytest.fixture
def staffed(record: Record, clock: StandingClock) -> Record:
    """Three people; the operator has a password and a PIN, the manager a password."""
    seat(record, clock)
    people.set_password(record, clock, "oto", PASSWORD)
    people.set_password(record, clock, "mia", PASSWORD)
    people.set_pin(record, clock, "oto", PIN)
    return record


def send(client: FlaskClient, path: str, page: str, **form: str) -> TestResponse:
    found = TOKEN.search(client.get(page).text)
    assert found
    return client.post(path, data={"csrf_token": found[1], **form})


def sign_in(
    client: FlaskClient, onward: str = "", name: str = "oto", password: str = PASSWORD
) -> TestResponse:
    return send(client, "/sign-in", "/sign-in", name=name, password=password, next=onward)


def kinds(record: Record) -> list[tuple[str, str]]:
    with record.reading() as unit:
        return [(event.kind, event.who) for event in unit.events.list()]


def test_a_password_signs_in_and_leads_back_to_the_page_that_was_asked_for(
    app: Flask, staffed: Record, planned_shop: Record
) -> None:
    client = app.test_client()
    first = client.get("/queue?material=PC")
    assert first.status_code == 303 and first.location == "/sign-in?next=" + quote("/queue?material=PC")
    shown = client.get(first.location)
    assert 'value="/queue?material=PC"' in shown.text
    answer = sign_in(client, "/queue?material=PC")
    assert answer.status_code == 303 and answer.location == "/queue?material=PC"
    cookie = next(each for each in answer.headers.getlist("Set-Cookie") if each.startswith(SEAT))
    assert "HttpOnly" in cookie and "SameSite=Lax" in cookie and "Secure" not in cookie
    page = client.get("/").text
    assert "Oto Prov" in page and "operator" in page and "Sign out" in page


def test_a_wrong_password_is_told_and_nothing_opens(app: Flask, staffed: Record) -> None:
    client = app.test_client()
    answer = sign_in(client, password="wrong")
    assert answer.status_code == 403 and "don&#39;t go together" in answer.text
    assert "wrong" not in re.sub(r"<p class=.notice.*?</p>", "", answer.text)
    assert client.get("/").status_code == 303
    for _ in range(4):
        answer = sign_in(client, password="wrong")
    assert "try again in 1 min" in answer.text
    assert "try again in 1 min" in sign_in(client).text


def test_a_form_to_sign_in_needs_its_token(app: Flask, staffed: Record) -> None:
    answer = app.test_client().post("/sign-in", data={"name": "oto", "password": PASSWORD})
    assert answer.status_code == 400 and SEAT not in str(answer.headers)


def test_signing_out_ends_the_sign_in_for_good(app: Flask, staffed: Record) -> None:
    client = app.test_client()
    sign_in(client)
    kept = client.get_cookie(SEAT)
    assert kept is not None
    assert send(client, "/sign-out", "/").location == "/sign-in"
    assert client.get("/").status_code == 303
    client.set_cookie(SEAT, kept.value)
    assert client.get("/").status_code == 303
    assert kinds(staffed)[0] == ("signed out", "oto")


def test_the_cookie_is_for_https_alone_where_the_shop_has_it(
    staffed: Record, clock: StandingClock, runner: NotingRunner, app: Flask
) -> None:
    config = type(app.extensions["soakline"].config)(https=True)
    client = create_app(config, staffed, clock, runner).test_client()
    page = client.get("/sign-in", base_url="https://localhost")
    found = TOKEN.search(page.text)
    assert found
    form = {"csrf_token": found[1], "name": "mia", "password": PASSWORD}
    headers = {"Referer": "https://localhost/sign-in"}
    answer = client.post("/sign-in", data=form, base_url="https://localhost", headers=headers)
    assert answer.status_code == 303
    cookies = answer.headers.getlist("Set-Cookie")
    assert cookies and all("Secure" in cookie for cookie in cookies)
    found = TOKEN.search(client.get("/people", base_url="https://localhost").text)
    assert found
    given = client.post(
        "/people/screen",
        data={"csrf_token": found[1], "name": "Hall"},
        base_url="https://localhost",
        headers=headers,
    )
    assert "https://localhost/screen/" in given.text


def test_nothing_that_one_saw_stays_in_the_browser(client: FlaskClient, planned_shop: Record) -> None:
    for path in ("/", "/board.json", "/orders/template.csv", "/orders/template.xlsx", "/nowhere"):
        assert client.get(path).headers["Cache-Control"] == "no-store", path
    with client.get("/static/soakline.css") as styles:
        assert "no-store" not in styles.headers["Cache-Control"]


def test_a_link_is_spent_by_its_button_and_not_by_looking(
    app: Flask, staffed: Record, clock: StandingClock
) -> None:
    path = f"/sign-in/link/{people.make_link(staffed, clock, 'fee')}"
    assert "Fee Muster" in app.test_client().get(path).text
    client = app.test_client()
    answer = send(client, path, path)
    assert answer.status_code == 303 and answer.location == "/"
    assert "You have no password yet" in client.get("/me").text
    # Opened again by whoever it has let in it goes on; a stranger is told that it is spent.
    assert client.get(path).status_code == 303
    late = app.test_client().get(path)
    assert late.status_code == 403 and "no longer signs in" in late.text
    other = app.test_client()
    assert send(other, path, "/sign-in").status_code == 403
    assert other.get("/").status_code == 303


def test_a_pin_works_only_on_a_shared_tablet_and_hands_it_over(app: Flask, staffed: Record) -> None:
    tablet = app.test_client()
    assert "not shared" in tablet.get("/switch").text
    refused = send(tablet, "/switch", "/sign-in", name="oto", pin=PIN)
    assert refused.status_code == 403 and tablet.get("/").status_code == 303
    sign_in(tablet, name="mia")
    assert send(tablet, "/people/tablets", "/people", name="by the ovens").status_code == 303
    cookie = tablet.get_cookie(TABLET)
    assert cookie is not None
    listed = tablet.get("/switch?next=/floor").text
    assert "Oto Prov" in listed and "Fee Muster" not in listed
    chosen = tablet.get("/switch?to=oto&next=/floor").text
    assert "Oto Prov, your PIN" in chosen and "data-digit" in chosen
    wrong = send(tablet, "/switch", "/switch?to=oto", name="oto", pin="8361")
    assert wrong.status_code == 403 and "That PIN is wrong" in wrong.text
    assert "Mia Testa" in tablet.get("/me").text
    right = send(tablet, "/switch", "/switch?to=oto", name="oto", pin=PIN, next="/floor")
    assert right.status_code == 303 and right.location == "/floor"
    assert "Oto Prov" in tablet.get("/me").text
    assert send(tablet, "/sign-out", "/me").location == "/switch"
    sign_in(tablet, name="mia")
    assert send(tablet, "/people/tablets/1/forget", "/people").status_code == 303
    assert "not shared" in tablet.get("/switch").text


def test_a_pin_opens_no_people_page(app: Flask, staffed: Record, clock: StandingClock) -> None:
    people.set_pin(staffed, clock, "mia", PIN)
    tablet = app.test_client()
    sign_in(tablet, name="mia")
    assert tablet.get("/people").status_code == 200
    send(tablet, "/people/tablets", "/people", name="")
    send(tablet, "/switch", "/switch?to=mia", name="mia", pin=PIN)
    answer = tablet.get("/people")
    assert answer.status_code == 403 and "A PIN does not open this page" in answer.text
    assert tablet.get("/plan").status_code == 200


def test_an_idle_sign_in_ends_though_its_page_goes_on_asking(
    client_as: ClientAs, planned_shop: Record, clock: StandingClock
) -> None:
    client = client_as("manager")
    for _ in range(12):
        clock.now += timedelta(minutes=5)
        code = client.get("/board.json").status_code, client.get("/", headers={RENEWAL: "page"}).status_code
    assert code == (401, 303)


def test_a_used_sign_in_goes_on(client_as: ClientAs, planned_shop: Record, clock: StandingClock) -> None:
    client = client_as("manager")
    for _ in range(12):
        clock.now += timedelta(minutes=20)
        assert client.get("/").status_code == 200


def test_a_screen_shows_the_wall_and_its_figures_for_weeks(
    client_as: ClientAs, planned_shop: Record, clock: StandingClock, worked_plan: Plan
) -> None:
    late = max(worked_plan.jobs, key=lambda job: job.late_min).job
    with planned_shop.writing() as unit:
        scenario = unit.fleet.load()
        job = next(job for job in scenario.jobs if job.id == late)
        unit.orders.save(Order(job.order, "Somebody", "", True))
    screen = client_as("display")
    for _ in range(40):
        clock.now += timedelta(days=1)
        assert screen.get("/board.json").status_code == 200
    clock.now = at(10) + timedelta(days=40)
    page = screen.get("/wall").text
    assert late in page and "under non-disclosure" in page and f"<small>{job.part}</small>" not in page
    for gone in ('href="/"', 'href="/words"', "Sign out", 'aria-label="Main"'):
        assert gone not in page


def test_a_screens_link_asks_before_it_signs_a_person_out(
    app: Flask, staffed: Record, client: FlaskClient, clock: StandingClock, worked_shop: Record
) -> None:
    path = f"/screen/{people.make_display_link(staffed, clock, 'hall')}"
    asked = client.get(path)
    assert asked.status_code == 200 and "signed in here as Mia Testa" in asked.text
    assert client.get("/me").status_code == 200
    assert send(client, path, path).location == "/wall"
    assert client.get("/me").status_code == 403
    bare = app.test_client()
    assert bare.get(path).location == "/wall" and bare.get("/wall").status_code == 200
    people.deactivate(staffed, clock, "wall-hall")
    assert bare.get("/wall").status_code == 303
    assert app.test_client().get(path).status_code == 403


def test_own_password_and_pin_want_the_present_password(app: Flask, staffed: Record) -> None:
    client, elsewhere = app.test_client(), app.test_client()
    sign_in(client)
    sign_in(elsewhere)
    new = "nine lamps hum softly"
    form = {"password": new, "again": new}
    assert send(client, "/me/password", "/me", present="wrong", **form).status_code == 422
    assert send(client, "/me/password", "/me", present=PASSWORD, password=new, again="x").status_code == 422
    assert (
        "10 to 200"
        in send(client, "/me/password", "/me", present=PASSWORD, password="short", again="short").text
    )
    assert send(client, "/me/password", "/me", present=PASSWORD, **form).status_code == 303
    assert client.get("/me").status_code == 200 and elsewhere.get("/me").status_code == 303
    assert "digits in a row" in send(client, "/me/pin", "/me", present=new, pin="4567").text
    assert send(client, "/me/pin", "/me", present=new, pin="8052").status_code == 303
    assert sign_in(app.test_client(), password=new).status_code == 303


def test_a_person_let_in_by_a_link_chooses_a_password(client_as: ClientAs, app: Flask, cheap: None) -> None:
    client = client_as("front_desk")
    assert "Present password" not in client.get("/me").text
    assert send(client, "/me/password", "/me", password=PASSWORD, again=PASSWORD).status_code == 303
    assert sign_in(app.test_client(), name="fee").status_code == 303


def test_managers_add_people_and_change_them(client: FlaskClient, app: Flask, record: Record) -> None:
    added = send(client, "/people/add", "/people", name="Ulla Grau", id="ulla", role="operator")
    assert added.status_code == 200
    found = re.search(r"http://localhost(/sign-in/link/[\w-]+)", added.text)
    assert found
    theirs = app.test_client()
    assert send(theirs, found[1], found[1]).status_code == 303
    assert theirs.get("/orders/new").status_code == 403
    send(client, "/people/ulla/change", "/people", do="role", role="front_desk")
    assert theirs.get("/").status_code == 303, "another role asks to sign in anew"
    again = send(client, "/people/ulla/change", "/people", do="link")
    found = re.search(r"http://localhost(/sign-in/link/[\w-]+)", again.text)
    assert found
    send(theirs, found[1], found[1])
    assert theirs.get("/orders/new").status_code in (200, 404)
    send(client, "/people/ulla/change", "/people", do="shut-out")
    assert theirs.get("/").status_code == 303
    assert "shut out" in client.get("/people").text
    assert send(client, "/people/ulla/change", "/people", do="let-in").status_code == 303
    assert ("person added", "Mia Testa") in kinds(record)


@pytest.mark.parametrize(
    ("path", "form", "told"),
    [
        ("/people/add", {"name": "X", "id": "mia", "role": "operator"}, "there is a person mia already"),
        ("/people/add", {"name": "", "id": "newone", "role": "operator"}, "a name needs 1 to 80"),
        ("/people/add", {"name": "Y", "id": "newone", "role": "display"}, "is no role"),
        ("/people/mia/change", {"do": "shut-out"}, "the only manager"),
        ("/people/nobody/change", {"do": "link"}, "there is no person nobody"),
        ("/people/oto/change", {"do": "pin", "pin": "1111"}, "one digit repeated"),
        ("/people/screen", {"name": " "}, "a name needs 1 to 80"),
    ],
)
def test_what_cannot_be_done_with_people_is_told(
    client: FlaskClient, path: str, form: dict[str, str], told: str
) -> None:
    answer = send(client, path, "/people", **form)
    assert answer.status_code == 422 and told in answer.text


def test_without_people_the_shops_own_machine_is_let_in_until_there_is_one(
    app: Flask, worked_shop: Record, clock: StandingClock
) -> None:
    client = app.test_client()
    page = client.get("/people")
    assert page.status_code == 200 and "Nobody signs in here yet" in page.text
    far = client.get("/", environ_overrides={"REMOTE_ADDR": "192.0.2.9"})
    assert far.status_code == 303 and far.location == "/sign-in"
    refused = send(client, "/people/add", "/people", name="Ulla", id="ulla", role="operator")
    assert refused.status_code == 422 and "first person must be a manager" in refused.text
    added = send(client, "/people/add", "/people", name="Ulla", id="ulla", role="manager")
    assert "/sign-in/link/" in added.text
    assert client.get("/").status_code == 303


def test_a_server_that_others_reach_lets_nobody_in_without_people(
    worked_shop: Record, clock: StandingClock, runner: NotingRunner, app: Flask
) -> None:
    config = type(app.extensions["soakline"].config)(host="0.0.0.0", names=("shop.example",))
    client = create_app(config, worked_shop, clock, runner).test_client()
    assert client.get("/").status_code == 303


def test_what_people_do_carries_their_name(
    client_as: ClientAs, planned_shop: Record, runner: NotingRunner
) -> None:
    client = client_as("manager")
    assert send(client, "/plan/now", "/plan").status_code == 303
    assert kinds(planned_shop)[0] == ("plan asked for", "Mia Testa")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "queue",
        "//elsewhere.example",
        "/\\elsewhere.example",
        "https://elsewhere.example/",
        "/a\\b",
        "/a\nb",
        "/a\tb",
        "javascript:alert(1)",
        "/" + "x" * LONGEST_NEXT,
        "\\\\elsewhere.example",
    ],
)
def test_signing_in_leads_nowhere_else(text: str) -> None:
    assert safe_next(text) == "/"


@given(st.text(max_size=40) | st.text("/\\.:@?#ab \t\n", max_size=12))
def test_whatever_is_asked_for_the_next_page_is_ours(text: str) -> None:
    found = safe_next(text)
    assert found.startswith("/") and not found.startswith(("//", "/\\"))
    assert found in ("/", text)


def test_pages_of_ours_are_led_back_to() -> None:
    for path in ("/", "/queue?q=a%2Fb&sort=due", "/floor/machines/P%201", "/jobs/J-7#steps"):
        assert safe_next(path) == path
