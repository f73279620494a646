"""One order line at a time, as the front desk types it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import pytest

from scheduler.model import Feed, Scenario
from scheduler.office.orders import (
    OrderLine,
    Refused,
    add_order,
    edit_order,
    recorded_line,
    remove_order,
)
from scheduler.office.shop import export_scenario
from scheduler.store import Order, Record, StaleVersion
from tests.builders import a_job, a_pin, a_progress, at
from tests.office.conftest import StandingClock

LINE = OrderLine(
    job="K-1",
    order="2031-7",
    part="valve seat",
    print_min=75,
    size_mm=(20.0, 30.0, 10.0),
    feeds=(Feed("ABS", 40.0, (0.4,), ()),),
    customer="Kettler Valves",
    due=datetime(2031, 3, 5, 16, 0),
)


def test_a_line_becomes_a_job_and_tells_what_it_knows_of_the_order(
    shop: Record, clock: StandingClock
) -> None:
    assert add_order(shop, clock, LINE) == ("K-1",)
    job = export_scenario(shop).jobs[-1]
    assert (job.id, job.release, job.due) == ("K-1", at(0), at(2 * 1440 + 9 * 60))
    assert job.due is not None and job.due.isoformat() == "2031-03-05T16:00:00+01:00"
    with shop.reading() as unit:
        assert unit.orders.get("2031-7") == Order("2031-7", "Kettler Valves", "", False, at(0))
        kinds = [(event.kind, event.subject_id) for event in unit.events.list()]
    assert kinds == [("job added", "K-1")]


def test_several_plates_become_several_jobs(shop: Record, clock: StandingClock) -> None:
    assert add_order(shop, clock, replace(LINE, plates=3)) == ("K-1.1", "K-1.2", "K-1.3")
    with pytest.raises(Refused, match="0 is not from 1 to 500"):
        add_order(shop, clock, replace(LINE, plates=0))


def test_a_taken_id_is_refused(shop: Record, clock: StandingClock) -> None:
    with pytest.raises(Refused, match="there is a job J1 already, of order o-J1"):
        add_order(shop, clock, replace(LINE, job="J1"))


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (replace(LINE, feeds=(Feed("XYZ", 1.0, (0.4,), ()),)), "no material XYZ"),
        (replace(LINE, same_lot_as="J9"), "no job J9"),
        (replace(LINE, print_min=-5), "-5 is negative"),
        (replace(LINE, feeds=LINE.feeds * 3), r"jobs\[1\]\.feeds"),
        (replace(LINE, due=datetime(2031, 3, 30, 2, 30)), "due: 2031-03-30 02:30 does not exist"),
        (replace(LINE, release=datetime(2031, 10, 26, 2, 30)), "release: 2031-10-26 02:30 comes twice"),
    ],
)
def test_a_line_that_makes_the_shop_unsound_is_refused(
    shop: Record, clock: StandingClock, scenario: Scenario, line: OrderLine, says: str
) -> None:
    with pytest.raises(Refused, match=says):
        add_order(shop, clock, line)
    assert export_scenario(shop) == scenario
    with shop.reading() as unit:
        assert (unit.events.list(), unit.orders.get("2031-7")) == ((), None)


def test_a_job_that_nothing_fits_is_recorded(shop: Record, clock: StandingClock) -> None:
    assert add_order(shop, clock, replace(LINE, size_mm=(9000.0, 1.0, 1.0))) == ("K-1",)


def test_a_recorded_line_can_be_changed_and_keeps_pin_and_progress(
    shop: Record, clock: StandingClock
) -> None:
    begun = a_job("J2", pinned=a_pin(), progress=a_progress(), order="A")
    with shop.writing() as unit:
        unit.fleet.save_job(begun)
    line = recorded_line(shop, "J2")
    assert line is not None
    edit_order(shop, clock, replace(line, weight=3.0, note="hurry", order="B"))
    after = export_scenario(shop).jobs[-1]
    assert after == replace(begun, weight=3.0, order="B")
    with shop.reading() as unit:
        assert [order.id for order in unit.orders.list()] == ["B", "o-J1"]
        noted = unit.orders.get("B")
        assert noted is not None and noted.note == "hurry"
        event = unit.events.list()[0]
    assert (event.kind, event.data) == ("job changed", {"fields": ["order", "weight"]})
    assert recorded_line(shop, "J9") is None


def test_changes_to_nothing_or_from_an_old_view_are_refused(shop: Record, clock: StandingClock) -> None:
    with pytest.raises(Refused, match="no job K-1"):
        edit_order(shop, clock, LINE)
    with pytest.raises(Refused, match="plates: 2"):
        edit_order(shop, clock, replace(LINE, job="J1", plates=2))
    add_order(shop, clock, LINE)
    with pytest.raises(StaleVersion):
        edit_order(shop, clock, LINE, seen=1)


def test_a_job_is_taken_back_unless_begun_or_named(shop: Record, clock: StandingClock) -> None:
    add_order(shop, clock, LINE)
    add_order(shop, clock, replace(LINE, job="K-2", same_lot_as="K-1"))
    with shop.writing() as unit:
        unit.fleet.save_job(a_job("J2", progress=a_progress()))
    with pytest.raises(Refused, match="no job K-1"):
        remove_order(shop, clock, "K-1")
    with pytest.raises(Refused, match="has begun on printer P1"):
        remove_order(shop, clock, "J2")
    with pytest.raises(Refused, match="no job K-9"):
        remove_order(shop, clock, "K-9")
    remove_order(shop, clock, "K-2")
    remove_order(shop, clock, "K-1")
    assert [job.id for job in export_scenario(shop).jobs] == ["J1", "J2"]
    with shop.reading() as unit:
        assert unit.orders.get("2031-7") is None
