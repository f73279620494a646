"""Overtime of a hold goes back with it, unless others work in it by then."""

from __future__ import annotations

import pytest

from scheduler.checking import check
from scheduler.model import Shift
from scheduler.office.quotes.drafts import decline, draft
from scheduler.office.quotes.expiry import expire_holds
from scheduler.office.quotes.holds import accept, hold
from scheduler.office.shop import scenario_now
from scheduler.quoting import ways
from scheduler.store import Record
from tests.builders import at
from tests.office.conftest import StandingClock
from tests.office.quotes.conftest import an_ask, small_shop


@pytest.fixture
def clock() -> StandingClock:
    return StandingClock(at(0))


def shifts(record: Record) -> tuple[Shift, ...]:
    with record.reading() as unit:
        return unit.fleet.load().shifts


def told(record: Record, number: int) -> list[str]:
    """What the newest event of a quote says of overtime."""
    with record.reading() as unit:
        overtime = unit.events.list(("quote", f"Q-{number}"))[0].data["overtime"]
    assert isinstance(overtime, list)
    return overtime


def held_with_overtime(record: Record, clock: StandingClock) -> tuple[int, Shift]:
    number = draft(record, clock, "Marlow Pumps", "", an_ask())
    hold(record, clock, number, at(30), "sooner")
    added = set(shifts(record)) - set(small_shop().shifts)
    assert len(added) == 1
    return number, added.pop()


def test_overtime_goes_back_when_the_hold_ends(record: Record, clock: StandingClock) -> None:
    number, overtime = held_with_overtime(record, clock)
    assert overtime.start >= at(600)
    clock.now = at(30)
    assert expire_holds(record, clock) == (number,)
    assert shifts(record) == small_shop().shifts
    assert len(told(record, number)) == 1 and told(record, number)[0].endswith("is taken back.")
    with record.reading() as unit:
        assert unit.quotes.held_shifts(number) == ()


def test_overtime_goes_back_when_the_customer_declines(record: Record, clock: StandingClock) -> None:
    number, _ = held_with_overtime(record, clock)
    decline(record, clock, number)
    assert shifts(record) == small_shop().shifts
    assert told(record, number)[0].endswith("is taken back.")


def test_overtime_that_another_order_works_in_stays_and_says_for_whom(
    record: Record, clock: StandingClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Whoever comes for the held part stays long enough to set up another.
    monkeypatch.setattr(ways, "CALL_OUT_MIN", 240)
    number, overtime = held_with_overtime(record, clock)
    other = draft(record, clock, "Osei Optics", "", an_ask(print_min=60.0))
    hold(record, clock, other, at(20))
    accept(record, clock, other)
    with record.reading() as unit:
        published = unit.plans.published()
    assert published is not None
    mine = next(job for job in published.plan.jobs if job.job == f"Q-{other}-1")
    within = [step.kind for step in mine.steps if step.start < overtime.end and step.end > overtime.start]
    assert "changeover" in within
    clock.now = at(30)
    assert expire_holds(record, clock) == (number,)
    assert overtime in shifts(record)
    (sentence,) = told(record, number)
    assert f"job Q-{other}-1 (" in sentence and "stays in the shifts" in sentence
    with record.reading() as unit:
        stored = unit.plans.published()
        assert stored is not None
    # The plan without what was held still keeps every rule of the shop.
    shop = scenario_now(record, clock)
    left = {job.id for job in shop.jobs}
    assert f"Q-{other}-1" in left and f"Q-{number}-1" not in left


def test_overtime_of_an_accepted_quote_stays(record: Record, clock: StandingClock) -> None:
    number, overtime = held_with_overtime(record, clock)
    accept(record, clock, number)
    clock.now = at(31)
    assert expire_holds(record, clock) == ()
    assert overtime in shifts(record)
    with record.reading() as unit:
        assert unit.quotes.held_shifts(number) == ()
        stored = unit.plans.published()
        assert stored is not None
        clock.now = at(0)
    assert check(scenario_now(record, clock), stored.plan, stored.plan.scenario_hash) == ()


def test_overtime_that_somebody_changed_is_left_alone(record: Record, clock: StandingClock) -> None:
    number, overtime = held_with_overtime(record, clock)
    longer = Shift(overtime.start, overtime.end, 2)
    with record.writing() as unit:
        shop = unit.fleet.load()
        unit.fleet.save_site(
            shop.site, tuple(longer if shift == overtime else shift for shift in shop.shifts)
        )
    clock.now = at(30)
    expire_holds(record, clock)
    assert longer in shifts(record)
    assert "somebody has changed it since" in told(record, number)[0]
