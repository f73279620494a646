"""Every address asks for a permission, and every role gets in where it may and nowhere else."""

from __future__ import annotations

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.routing import Rule

from scheduler.people import ROLES, Role
from scheduler.store import Record
from tests.web.conftest import ClientAs
from web.permissions import ASKED, BEYOND_PIN, GRANTED, PERMISSIONS, may

ANYONE = {endpoint for endpoint, asked in ASKED.items() if asked == "anyone"}
#: Something for each part of an address; what it names need not be there.
PARTS = {"path": "X", "int": 1, "string": "dryers", "any": "csv"}


def addresses(app: Flask) -> list[tuple[str, str, str]]:
    """Endpoint, method and an address of it, for every route."""
    with app.test_request_context():
        made = app.create_url_adapter(None) or app.url_map.bind("localhost")
    found = []
    for rule in app.url_map.iter_rules():
        values = {name: _part(rule, name) for name in rule.arguments}
        for method in sorted((rule.methods or set()) & {"GET", "POST"}):
            found.append((rule.endpoint, method, made.build(rule.endpoint, values, method)))
    return found


def _part(rule: Rule, name: str) -> object:
    kind = type(rule._converters[name]).__name__.lower()
    return next((value for key, value in PARTS.items() if kind.startswith(key)), "X")


def status(client: FlaskClient, method: str, path: str) -> tuple[int, str]:
    answer = client.open(path, method=method)
    answer.close()
    return answer.status_code, answer.headers.get("Location", "")


def test_every_address_asks_for_one_known_permission(app: Flask) -> None:
    assert {rule.endpoint for rule in app.url_map.iter_rules()} == set(ASKED)
    assert set(ASKED.values()) <= PERMISSIONS | {"anyone"}
    assert BEYOND_PIN <= PERMISSIONS


@pytest.mark.parametrize("role", ROLES)
def test_a_role_gets_in_where_it_may_and_nowhere_else(
    app: Flask, client_as: ClientAs, planned_shop: Record, role: Role
) -> None:
    client = client_as(role)
    wrong = []
    for endpoint, method, path in addresses(app):
        if endpoint in ANYONE:
            continue
        code, location = status(client, method, path)
        allowed = ASKED[endpoint] in GRANTED[role]
        # Past the guard a form without its token gets 400 and a thing that is not there 404.
        if (code == 403) == allowed or code == 401 or location.startswith("/sign-in"):
            wrong.append((endpoint, method, path, code))
    assert wrong == []


def test_without_a_sign_in_pages_lead_to_it_and_figures_answer_401(
    app: Flask, client_as: ClientAs, planned_shop: Record
) -> None:
    client_as("manager")
    nobody = app.test_client()
    wrong = []
    for endpoint, method, path in addresses(app):
        if endpoint in ANYONE:
            continue
        code, location = status(nobody, method, path)
        good = code == 401 if path.endswith(".json") or endpoint == "board.live" else code == 303
        if not good or (code == 303 and not location.startswith("/sign-in")):
            wrong.append((endpoint, method, path, code, location))
    assert wrong == []
    asked = nobody.get("/queue", headers={"Accept": "application/json"})
    assert asked.status_code == 401 and asked.json is not None and "Sign in" in asked.json["text"]
    assert nobody.post("/floor/do", headers={"Accept": "application/json"}).status_code == 401


def test_roles_reach_what_they_need_and_no_more() -> None:
    reached = {role: {endpoint for endpoint in ASKED if may(role, endpoint)} - ANYONE for role in GRANTED}
    assert reached["display"] == {"board.wall", "board.fresh", "board.live", "board.live_mark"}
    assert reached["manager"] == set(ASKED) - ANYONE
    assert "plan.publish" not in reached["operator"] | reached["front_desk"]
    assert "staff.show" not in reached["operator"] | reached["front_desk"]
    assert "orders.store" in reached["front_desk"] - reached["operator"]
    assert "floor.do" in reached["operator"] - reached["front_desk"]
    assert "quotes.hold" in reached["front_desk"] - reached["operator"]
    assert "quotes.store_prices" not in reached["front_desk"]
    assert "fleet.show" in reached["operator"] and "fleet.store" not in reached["operator"]
    assert not may("manager", "nowhere.show")


def test_an_address_that_the_table_forgot_is_nobodys(app: Flask, client_as: ClientAs) -> None:
    @app.get("/forgotten")
    def forgotten() -> str:
        return "never seen"

    answer = client_as("manager").get("/forgotten")
    assert answer.status_code == 403 and "never seen" not in answer.text
    assert app.test_client().get("/forgotten").status_code == 303


def test_a_refusal_says_who_one_is_and_what_to_do(client_as: ClientAs, planned_shop: Record) -> None:
    answer = client_as("operator").get("/plan")
    assert answer.status_code == 403
    assert "Oto Prov is signed in as operator" in answer.text
    assert "Back to the board" in answer.text
    shown = client_as("display").get("/queue")
    assert shown.status_code == 403 and "Back to the wall" in shown.text and 'href="/queue"' not in shown.text
