"""A small recorded shop and a clock that stands where a test puts it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from scheduler.model import Scenario
from scheduler.store import Record
from tests.builders import a_material, a_scenario, a_site, at


class StandingClock:
    """Gives the instant that it was set to."""

    def __init__(self, now: datetime) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> StandingClock:
    """At the shop's first minute."""
    return StandingClock(at(0))


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    """A record without a shop."""
    record = Record(f"sqlite:///{tmp_path / 'shop.sqlite3'}")
    record.migrate()
    yield record
    record.close()


@pytest.fixture
def scenario() -> Scenario:
    """A shop in Berlin with one job and two materials."""
    return a_scenario(site=a_site(timezone="Europe/Berlin"), materials=[a_material("ABS"), a_material("SUP")])


@pytest.fixture
def shop(record: Record, scenario: Scenario) -> Record:
    """A record with the small shop, at version 1."""
    with record.writing() as unit:
        unit.fleet.replace(scenario)
    return record
