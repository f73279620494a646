"""A shop with one planned job on a heated printer, and its floor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from scheduler.floor import Asked, Command
from scheduler.floor.things import Kind
from scheduler.model import DryingRow, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.office.floor import FloorDesk, Outcome
from scheduler.planning import make_plan
from scheduler.store import Record
from tests.builders import PLAN_START, a_job, a_material, a_scenario, a_site, a_spool


class Clock:
    """Stands until it is moved on."""

    def __init__(self) -> None:
        self.now = PLAN_START

    def __call__(self) -> datetime:
        return self.now

    def on(self, minutes: float) -> None:
        self.now += timedelta(minutes=minutes)


class FloorOf:
    """A floor with a clock, touched in one line."""

    def __init__(self, record: Record, clock: Clock) -> None:
        self.record, self.clock = record, clock
        self.desk = FloorDesk(record, clock)
        self.keys = 0

    def touch(
        self,
        command: Command,
        *,
        who: str = "Ada",
        key: str = "",
        override: str = "",
        may: bool = False,
        seen: tuple[tuple[Kind, str, int], ...] = (),
    ) -> Outcome:
        self.keys += 1
        return self.desk.take(
            Asked(key or f"k{self.keys}", who, self.clock.now, override, may, seen), command
        )


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def scenario() -> Scenario:
    """Two jobs of a polymer that must be dried and stays dry for ten hours; two spools of it, one dry."""
    wet = a_material("ABS", drying=(DryingRow(80.0, 4.0, False),), open_time_min=600)
    base = a_scenario(site=a_site(), materials=[wet])
    spools = [
        a_spool("S1", material="ABS", lot="L1", dried=True),
        a_spool("S2", material="ABS", lot="L2", dried=False),
    ]
    jobs = [a_job("J1", quantity=4), a_job("J2", quantity=1)]
    return replace(base, spools=tuple(spools), jobs=tuple(jobs))


@pytest.fixture
def record(tmp_path: Path, scenario: Scenario) -> Iterator[Record]:
    record = Record(f"sqlite:///{tmp_path / 'shop.sqlite3'}")
    record.migrate()
    plan = make_plan(scenario, scenario_hash=scenario_hash(scenario), made_at=PLAN_START)
    with record.writing() as unit:
        unit.fleet.replace(scenario)
        unit.plans.publish(unit.plans.add(plan))
    yield record
    record.close()


@pytest.fixture
def floor(record: Record, clock: Clock) -> FloorOf:
    return FloorOf(record, clock)
