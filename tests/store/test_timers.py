"""Leases of timers, and what a look at a humid week found, on both engines."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy.exc import IntegrityError

from scheduler.store import HumidCheck, Record, RecordError, RecordRefused, TimerState

DUE = datetime(2031, 3, 3, 5, tzinfo=UTC)
LEASE = timedelta(minutes=30)


def claimed(record: Record, who: str, now: datetime = DUE) -> bool:
    with record.writing() as unit:
        return unit.timers.claim("week", DUE, now, now + LEASE, who)


def test_a_lease_is_had_by_one_and_given_back_by_that_one(record: Record) -> None:
    assert claimed(record, "one") and not claimed(record, "two")
    with record.writing() as unit, pytest.raises(RecordRefused, match="taken up by somebody else"):
        unit.timers.finish("week", DUE, DUE, "two")
    with record.writing() as unit:
        unit.timers.finish("week", DUE, DUE + LEASE, "one")
    assert not claimed(record, "two", DUE + 2 * LEASE)
    with record.reading() as unit:
        assert unit.timers.get("week") == TimerState(DUE, DUE + LEASE)
        assert unit.timers.get("never") == TimerState()


def test_of_many_at_once_one_has_the_lease(record: Record) -> None:
    had: list[str] = []
    gate = threading.Barrier(6)

    def ask(who: str) -> None:
        gate.wait()
        if claimed(record, who):
            had.append(who)

    threads = [threading.Thread(target=ask, args=(f"server {number}",)) for number in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(had) == 1


def test_the_newest_look_at_a_humid_week_comes_back_as_it_was(record: Record) -> None:
    with record.reading() as unit:
        assert unit.water.humid_check() is None
    found = HumidCheck(DUE, 3, 50.0, 70.0, (), ("J-1", "J-2"), "timer")
    with record.writing() as unit:
        assert unit.water.add_humid_check(HumidCheck(DUE, 2, 41.5, 70.0, ("J-9",), (), "timer")) == 1
        assert unit.water.add_humid_check(found) == 2
    with record.reading() as unit:
        assert unit.water.humid_check() == HumidCheck(DUE, 3, 50.0, 70.0, (), ("J-1", "J-2"), "timer", 2)


def test_the_database_refuses_a_humidity_that_no_room_has(record: Record) -> None:
    with pytest.raises((IntegrityError, RecordError)), record.writing() as unit:
        unit.water.add_humid_check(HumidCheck(DUE, 1, 50.0, 140.0, (), (), "timer"))
