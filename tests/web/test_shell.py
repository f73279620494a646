"""What every page has around its content: headers, limits, plain failures, nothing inline."""

from __future__ import annotations

import re
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

import web
from scheduler.model.errors import SoaklineError
from scheduler.office.config import Config
from scheduler.store import Record
from tests.web.fakes import NotingRunner, StandingClock
from tests.web.seats import seat
from web.navigation import PLACES
from web.permissions import ASKED
from web.security import MAX_REQUEST_BYTES, is_loopback, trusted_names
from web.serving import CannotListen, address, listen, must_ask_people

TEMPLATES = sorted((Path(web.__file__).parent / "templates").rglob("*.html"))
PAGES = [*(place.path for place in PLACES), "/words", "/wall"]


class Inline(HTMLParser):
    """Collects what a strict content policy forbids, and ids that occur twice."""

    def __init__(self) -> None:
        super().__init__()
        self.offences: list[str] = []
        self.ids: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = dict(attrs)
        if tag == "style" or (tag == "script" and "src" not in names):
            self.offences.append(f"<{tag}>")
        self.offences += [name for name in names if name == "style" or name.startswith("on")]
        self.offences += [
            str(names[name])
            for name in ("src", "href")
            if re.match(r"(https?:)?//|javascript:", names.get(name) or "")
        ]
        if names.get("id"):
            self.ids.append(str(names["id"]))


@pytest.mark.parametrize("path", PAGES)
def test_pages_of_an_empty_record_say_how_to_begin(client: FlaskClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 200
    # The words and the bench need no shop.
    if path not in ("/words", "/bench"):
        assert "soakline import" in answer.text
        assert "soakline demo" in answer.text


@pytest.mark.parametrize("path", PAGES)
def test_pages_bring_nothing_inline_and_nothing_from_elsewhere(
    client: FlaskClient, planned_shop: Record, path: str
) -> None:
    answer = client.get(path)
    assert answer.status_code == 200
    found = Inline()
    found.feed(answer.text)
    assert found.offences == []
    assert len(found.ids) == len(set(found.ids)), "an id stands twice"


@pytest.mark.parametrize("path", PAGES)
def test_pages_have_one_title_a_language_and_a_way_past_the_navigation(
    client: FlaskClient, planned_shop: Record, path: str
) -> None:
    page = client.get(path).text
    assert page.count("<h1") == 1
    assert '<html lang="en">' in page
    assert 'href="#main"' in page and 'id="main"' in page
    # The board and the words are reached from everywhere; each place marks itself.
    assert page.count('aria-current="page"') == (0 if path in ("/words", "/wall") else 1)


def test_headers_keep_a_browser_strict(client: FlaskClient) -> None:
    headers = client.get("/").headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "script-src 'self'" in policy
    assert "unsafe" not in policy
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Cache-Control"] == "no-store"


def test_session_cookie_is_kept_from_scripts_and_other_sites(
    client: FlaskClient, worked_shop: Record
) -> None:
    cookie = client.get("/plan").headers["Set-Cookie"]
    assert "HttpOnly" in cookie and "SameSite=Strict" in cookie


def test_missing_page_is_told_plainly(client: FlaskClient) -> None:
    answer = client.get("/nowhere")
    assert answer.status_code == 404
    assert "There is no such page" in answer.text
    assert "Back to the board" in answer.text


def test_wrong_method_is_told_plainly(client: FlaskClient) -> None:
    answer = client.get("/plan/now")
    assert answer.status_code == 405
    assert "can't be used this way" in unescape(answer.text)


def test_a_request_that_is_too_large_is_refused(
    client: FlaskClient, worked_shop: Record, runner: NotingRunner
) -> None:
    answer = client.post("/plan/now", data=b"x" * (MAX_REQUEST_BYTES + 1), content_type="multipart/form-data")
    assert answer.status_code == 413
    assert "8 MB" in answer.text
    assert runner.started == []


def test_strange_host_is_refused(client: FlaskClient) -> None:
    answer = client.get("/", headers={"Host": "example.org"})
    assert answer.status_code == 400
    assert answer.text.startswith("This server answers as localhost, 127.0.0.1, [::1] alone")
    assert client.get("/sign-in", headers={"Host": "127.0.0.1:8642"}).status_code == 200


def test_names_by_which_browsers_may_ask() -> None:
    assert trusted_names(Config(host="0.0.0.0", names=("shop.example",))) == [
        "localhost", "127.0.0.1", "[::1]", "shop.example",
    ]  # fmt: skip
    assert trusted_names(Config(host="192.0.2.4"))[-1] == "192.0.2.4"
    assert trusted_names(Config(host="2001:db8::4"))[-1] == "[2001:db8::4]"


def test_form_without_its_token_changes_nothing(
    client: FlaskClient, worked_shop: Record, runner: NotingRunner
) -> None:
    answer = client.post("/plan/now")
    assert answer.status_code == 400
    assert "out of date" in answer.text
    assert runner.started == []


def test_what_breaks_shows_no_inside(app: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(ASKED, "breaks", "anyone")

    @app.get("/breaks")
    def breaks() -> str:
        raise RuntimeError("secret figure 4711")

    answer = app.test_client().get("/breaks")
    assert answer.status_code == 500
    assert "Something broke on our side" in answer.text
    assert "4711" not in answer.text and "Traceback" not in answer.text


def test_expected_refusal_shows_its_message(app: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(ASKED, "refuses", "anyone")

    @app.get("/refuses")
    def refuses() -> str:
        raise SoaklineError("spool s1: 40 g are left, 60 g asked for")

    answer = app.test_client().get("/refuses")
    assert answer.status_code == 409
    assert "40 g are left, 60 g asked for" in answer.text


def test_failures_of_figures_are_figures_too(client: FlaskClient) -> None:
    answer = client.get("/plan/runs/77.json")
    assert answer.status_code == 404
    assert answer.json is not None and answer.json["text"] == "There is no planning run 77."


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.stem)
def test_templates_never_switch_escaping_off(template: Path) -> None:
    text = template.read_text("utf-8")
    assert "|safe" not in text.replace(" ", "")
    assert "autoescape" not in text


@pytest.mark.parametrize(
    ("host", "loopback"),
    [
        ("127.0.0.1", True),
        ("127.3.2.1", True),
        ("::1", True),
        ("[::1]", True),
        ("localhost", True),
        ("0.0.0.0", False),
        ("::", False),
        ("192.168.1.4", False),
        ("shop.example", False),
    ],
)
def test_loopback(host: str, loopback: bool) -> None:
    assert is_loopback(host) is loopback


@pytest.mark.parametrize("config", [Config(host="0.0.0.0"), Config(names=("shop.example",))])
def test_nobody_else_reaches_a_server_without_people(record: Record, config: Config) -> None:
    with pytest.raises(CannotListen, match=r"(?s)nobody is on record.*soakline people add"):
        must_ask_people(config, record)


def test_people_on_record_open_other_addresses(record: Record, clock: StandingClock) -> None:
    must_ask_people(Config(), record)
    seat(record, clock)
    must_ask_people(Config(host="192.0.2.4"), record)
    with pytest.raises(CannotListen, match="SOAKLINE_NAMES must say"):
        must_ask_people(Config(host="0.0.0.0"), record)
    must_ask_people(Config(host="0.0.0.0", names=("shop.example",)), record)


def test_taken_port_is_replaced_only_where_allowed() -> None:
    with listen("127.0.0.1", 0) as first:
        first.listen()
        port = first.getsockname()[1]
        with pytest.raises(CannotListen, match=f"port {port}"):
            listen("127.0.0.1", port)
        with listen("127.0.0.1", port, fall_back=True) as second:
            assert second.getsockname()[1] not in (0, port)
            assert address(second).startswith("http://127.0.0.1:")
