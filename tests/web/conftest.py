"""An application over a database of its own, with a clock that stands."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from scheduler.model import Plan, Scenario
from scheduler.model.codec import read_plan_file, read_scenario_file
from scheduler.office.config import Config
from scheduler.people import Role
from scheduler.store import Record
from tests.builders import WORKED_EXAMPLE, at
from tests.web.fakes import AskingHere, NotingRunner, StandingClock
from tests.web.seats import seat
from web import create_app
from web.cookies import SEAT

TOKEN = re.compile(r'name="csrf_token" value="([^"]+)"')

Post = Callable[..., TestResponse]
ClientAs = Callable[[Role], FlaskClient]


@pytest.fixture
def clock() -> StandingClock:
    """Ten minutes past the worked example's first minute."""
    return StandingClock(at(10))


@pytest.fixture
def runner() -> NotingRunner:
    return NotingRunner()


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    record = Record(f"sqlite:///{tmp_path / 'shop.sqlite3'}")
    record.migrate()
    yield record
    record.close()


@pytest.fixture
def asking() -> AskingHere:
    return AskingHere()


@pytest.fixture
def app(record: Record, clock: StandingClock, runner: NotingRunner, asking: AskingHere) -> Flask:
    app = create_app(Config.from_env({}), record, clock, runner, asking)
    # A page that breaks must show its answer, as it would to a user.
    app.config["PROPAGATE_EXCEPTIONS"] = False
    return app


@pytest.fixture
def client_as(app: Flask, record: Record, clock: StandingClock) -> ClientAs:
    """A browser at which somebody of a role has signed in."""

    def made(role: Role) -> FlaskClient:
        client = app.test_client()
        client.set_cookie(SEAT, seat(record, clock, role))
        return client

    return made


@pytest.fixture
def client(client_as: ClientAs) -> FlaskClient:
    """A manager's browser."""
    return client_as("manager")


@pytest.fixture
def post(client: FlaskClient) -> Post:
    """Send a form as a browser does: with the token of the page that carries it."""

    def send(path: str, page: str = "/plan", **form: object) -> TestResponse:
        found = TOKEN.search(client.get(page).text)
        assert found, f"{page} has no form with a token"
        return client.post(path, data={"csrf_token": found[1], **form})

    return send


@pytest.fixture(scope="session")
def worked_scenario() -> Scenario:
    return read_scenario_file(WORKED_EXAMPLE / "scenario.json")[0]


@pytest.fixture(scope="session")
def worked_plan(worked_scenario: Scenario) -> Plan:
    return read_plan_file(WORKED_EXAMPLE / "plan.json", worked_scenario)


@pytest.fixture
def worked_shop(record: Record, worked_scenario: Scenario) -> Record:
    """The record with the worked example's shop and no plan."""
    with record.writing() as unit:
        unit.fleet.replace(worked_scenario)
    return record


@pytest.fixture
def planned_shop(worked_shop: Record, worked_plan: Plan) -> Record:
    """The record with the worked example's plan published as plan 1."""
    with worked_shop.writing() as unit:
        unit.plans.publish(unit.plans.add(worked_plan), at(5))
    return worked_shop
