"""Holds end by themselves."""

from __future__ import annotations

import time
from pathlib import Path

from scheduler.office.quotes.drafts import draft
from scheduler.office.quotes.holds import hold
from scheduler.store import Record
from tests.builders import at
from tests.office.conftest import StandingClock
from tests.office.quotes.conftest import an_ask, publish, small_shop
from workers import EndingHolds


def test_a_hold_is_given_back_while_nobody_looks(tmp_path: Path) -> None:
    record, clock = Record(f"sqlite:///{tmp_path / 'shop.sqlite3'}"), StandingClock(at(0))
    record.migrate()
    publish(record, small_shop())
    number = draft(record, clock, "Marlow Pumps", "", an_ask())
    hold(record, clock, number, at(20))
    ending = EndingHolds(record, clock, look_s=0.02)
    ending.start()
    try:
        time.sleep(0.2)
        with record.reading() as unit:
            assert unit.quotes.get(number).state == "held"
        clock.now = at(20)
        for _ in range(200):
            with record.reading() as unit:
                state = unit.quotes.get(number).state
            if state == "expired":
                break
            time.sleep(0.02)
        assert state == "expired"
    finally:
        ending.close()
        record.close()
