"""What is due by the shop's clock, served once however many look, and the weekly look at a humid week."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from demo_fleet import generate
from scheduler.model.errors import SoaklineError
from scheduler.office import plans
from scheduler.office.humid_check import check_humid_week, late_in
from scheduler.office.measured import surroundings
from scheduler.office.shop import import_scenario
from scheduler.office.timers import GRACE, HUMID_WEEK, LEASE, TIMERS, Timer, serve, take_up
from scheduler.store import Record, Unit

SHOP = generate("S", 1)
START = SHOP.site.plan_start
BERLIN = ZoneInfo("Europe/Berlin")


class Clock:
    """An instant that a test moves on."""

    def __init__(self, now: datetime) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record with a published plan, made once."""
    file = tmp_path_factory.mktemp("timers") / "shop.sqlite3"
    record = Record(f"sqlite:///{file}")
    record.migrate()
    import_scenario(record, lambda: START, SHOP)
    number = plans.carry_out(record, lambda: START, plans.request_plan(record, lambda: START), 0.0, 1)
    assert number == 1
    plans.publish(record, lambda: START, number)
    record.close()
    return file


@pytest.fixture
def shop(file: Path, tmp_path: Path) -> Iterator[Record]:
    copy = tmp_path / "shop.sqlite3"
    copy.write_bytes(file.read_bytes())
    record = Record(f"sqlite:///{copy}")
    yield record
    record.close()


def due_now(zone: str = SHOP.site.timezone) -> datetime:
    """The first Monday at six after the shop's start."""
    return HUMID_WEEK.newest(START + timedelta(days=7), ZoneInfo(zone))


def noting(name: str = "noting") -> tuple[Timer, list[str]]:
    done: list[str] = []

    def work(record: Record, clock: Callable[[], datetime], also: Callable[[Unit], None]) -> None:
        with record.writing() as unit:
            also(unit)
        done.append(clock().isoformat())

    return Timer(name, 0, 6, lambda unit: True, work), done


@pytest.mark.parametrize(
    ("now", "due"),
    [
        ("2031-03-03T06:00+01:00", "2031-03-03T06:00+01:00"),
        ("2031-03-03T05:59+01:00", "2031-02-24T06:00+01:00"),
        ("2031-03-09T23:00+01:00", "2031-03-03T06:00+01:00"),
        # Clocks go forward on Sunday, 30 March: six is an hour sooner in UTC from then on.
        ("2031-03-31T04:00+00:00", "2031-03-31T06:00+02:00"),
        ("2031-03-31T03:59+00:00", "2031-03-24T06:00+01:00"),
    ],
)
def test_a_timer_follows_the_shops_clock(now: str, due: str) -> None:
    assert HUMID_WEEK.newest(datetime.fromisoformat(now), BERLIN) == datetime.fromisoformat(due)


def test_a_due_instant_is_served_once(shop: Record) -> None:
    timer, done = noting()
    clock = Clock(due_now() + timedelta(hours=3))
    due = take_up(shop, clock, timer, "one")
    assert due == due_now()
    assert take_up(shop, clock, timer, "two") is None
    assert serve(shop, clock, timer, due, "one") and len(done) == 1
    clock.now += timedelta(days=3)
    assert take_up(shop, clock, timer, "two") is None
    clock.now = due_now() + timedelta(days=14, minutes=1)
    # Two weeks on, one instant is due and not two.
    later = take_up(shop, clock, timer, "two")
    assert later == due_now() + timedelta(days=14)
    assert serve(shop, clock, timer, later, "two")
    assert take_up(shop, clock, timer, "one") is None


def test_a_lease_that_ran_out_is_taken_over_and_the_first_stores_nothing(shop: Record) -> None:
    timer, done = noting()
    clock = Clock(due_now())
    due = take_up(shop, clock, timer, "slow")
    assert due is not None
    clock.now += LEASE - timedelta(seconds=1)
    assert take_up(shop, clock, timer, "other") is None
    clock.now += timedelta(seconds=1)
    assert take_up(shop, clock, timer, "other") == due
    assert not serve(shop, clock, timer, due, "slow") and done == []
    assert serve(shop, clock, timer, due, "other") and len(done) == 1


def test_what_is_long_past_waits_for_the_next_time(shop: Record) -> None:
    timer, _ = noting()
    clock = Clock(due_now() + GRACE)
    assert take_up(shop, clock, timer, "one") is not None
    other, _ = noting("another")
    clock.now += timedelta(minutes=1)
    assert take_up(shop, clock, other, "one") is None


def test_nothing_is_due_without_a_shop_or_a_plan(tmp_path: Path) -> None:
    record = Record(f"sqlite:///{tmp_path / 'none.sqlite3'}")
    record.migrate()
    clock = Clock(due_now())
    assert take_up(record, clock, HUMID_WEEK, "one") is None
    import_scenario(record, clock, SHOP)
    assert take_up(record, clock, HUMID_WEEK, "one") is None
    with pytest.raises(SoaklineError, match="no published plan"):
        check_humid_week(record, clock, "one")
    record.close()


@pytest.mark.parametrize("error", [SoaklineError("the oven is cold"), ZeroDivisionError("by nought")])
def test_work_that_fails_says_why_and_is_not_tried_all_week(shop: Record, error: Exception) -> None:
    def fail(record: Record, clock: object, also: object) -> None:
        raise error

    timer = Timer("failing", 0, 6, lambda unit: True, fail)
    clock = Clock(due_now())
    due = take_up(shop, clock, timer, "one")
    assert due is not None and not serve(shop, clock, timer, due, "one")
    with shop.reading() as unit:
        state = unit.timers.get("failing")
    assert str(error) in state.failed and state.ended_at == clock.now
    assert take_up(shop, clock, timer, "two") is None


def test_the_weekly_look_is_recorded_with_its_event(shop: Record) -> None:
    clock = Clock(START)
    due = take_up(shop, clock, HUMID_WEEK, "one")
    if due is None:
        clock.now = HUMID_WEEK.newest(START + timedelta(days=7), ZoneInfo(SHOP.site.timezone))
        due = take_up(shop, clock, HUMID_WEEK, "one")
    assert due is not None and serve(shop, clock, HUMID_WEEK, due, "one")
    with shop.reading() as unit:
        found, state = unit.water.humid_check(), unit.timers.get(HUMID_WEEK.name)
        events = [event.kind for event in unit.events.list()]
    assert found is not None and found.plan_number == 1 and found.humid_pct == 70 and found.at == clock.now
    assert state.served_for == due and state.failed == "" and state.leased_by is None
    assert events.count("humid week looked at") == 1


def test_a_look_finds_what_putting_the_plan_back_finds(shop: Record) -> None:
    found = check_humid_week(shop, lambda: START, "one")
    with shop.reading() as unit:
        around = surroundings(unit, SHOP, START)
        published = unit.plans.published()
    assert published is not None
    told = {job.job for job in published.plan.jobs if job.late_min > 0}
    told |= {job.job for job in published.plan.unplaced}
    today = late_in(SHOP, around, published.plan)
    humid = late_in(SHOP, replace(around, humidity_pct=70.0), published.plan)
    assert set(found.late_today) == today - told
    assert set(found.late_humid) == humid - today - told
    # At the humidity that open times are stated for, the plan comes back as it is.
    assert around.humidity_pct == 50 and today <= told


def test_timers_have_names_of_their_own() -> None:
    assert len({timer.name for timer in TIMERS}) == len(TIMERS)
