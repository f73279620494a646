"""A recorded and planned small shop on both engines."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from scheduler.model import Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.quoting.ask import Ask, AskLine
from scheduler.store import Record
from tests.builders import a_job, a_printer, a_scenario, a_shift, a_spool
from tests.services import (
    postgresql_database,
    postgresql_kept_database,
    postgresql_record_database,
    postgresql_server,
)

__all__ = [
    "postgresql_database",
    "postgresql_kept_database",
    "postgresql_record_database",
    "postgresql_server",
]


def small_shop() -> Scenario:
    """One printer, people by day, one job, plenty of filament."""
    day = 24 * 60
    return a_scenario(
        shifts=tuple(a_shift(n * day, n * day + 600) for n in range(10)),
        printers=(a_printer("P1", unattended=True),),
        spools=tuple(a_spool(f"s{n}", grams=4000.0, dried=True) for n in range(3)),
        jobs=(a_job("J1", print_min=240),),
    )


def publish(record: Record, scenario: Scenario) -> None:
    """Record the shop and a published plan of it."""
    plan = make_plan(
        scenario, scenario_hash=scenario_hash(scenario), made_at=scenario.site.plan_start, timer=lambda: 0.0
    )
    with record.writing() as unit:
        unit.fleet.replace(scenario)
        unit.plans.publish(unit.plans.add(plan))


def an_ask(quantity: int = 1, print_min: float = 300.0, wanted: datetime | None = None) -> Ask:
    """Brackets of the shop's material."""
    line = AskLine("bracket", quantity, "ABS", (40.0, 40.0, 30.0), print_min, 60.0, nozzle_mm=(0.4,))
    return Ask((line,), wanted)


@pytest.fixture(params=["sqlite", "postgresql"])
def record(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Record]:
    """A record with the small shop and its plan, on each engine in turn."""
    if request.param == "sqlite":
        record = Record(f"sqlite:///{tmp_path / 'shop.sqlite3'}")
        record.migrate()
    else:
        record = Record(request.getfixturevalue("postgresql_record_database"))
    publish(record, small_shop())
    yield record
    record.close()
