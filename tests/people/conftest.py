"""A record with three people, a clock that is moved by hand, and cheap hashes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from argon2 import PasswordHasher

from scheduler.office import people
from scheduler.people import hashing
from scheduler.store import Record
from tests.builders import at
from tests.web.fakes import StandingClock

PASSWORD = "seven kettles sing"
PIN = "2749"


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same algorithm with a small cost: these tests try very often."""
    monkeypatch.setattr(hashing, "_HASHER", PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    hashing._nobody.cache_clear()


@pytest.fixture
def clock() -> StandingClock:
    return StandingClock(at(0))


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    record = Record(f"sqlite:///{tmp_path / 'people.sqlite3'}")
    record.migrate()
    yield record
    record.close()


@pytest.fixture
def shop(record: Record, clock: StandingClock) -> Record:
    """A manager and an operator with password and PIN, and someone at the front desk with neither."""
    people.add_person(record, clock, "mia", "Mia Testa", "manager")
    people.add_person(record, clock, "oto", "Oto Prov", "operator")
    people.add_person(record, clock, "fee", "Fee Muster", "front_desk")
    for id in ("mia", "oto"):
        people.set_password(record, clock, id, PASSWORD)
        people.set_pin(record, clock, id, PIN)
    return record
