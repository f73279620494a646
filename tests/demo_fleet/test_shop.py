"""The demo shop: what it promises to show, on any day of the year."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from demo_fleet.orders import orders_info
from demo_fleet.shop import ZONE, demo_shop
from scheduler.matching import Matcher
from scheduler.model import Scenario
from scheduler.model.codec import scenario_offences

MONDAY = date(2026, 7, 27)
CLOCKS_FORWARD = date(2026, 3, 29)
CLOCKS_BACK = date(2026, 10, 25)
IMPOSSIBLE = {"2237-1": "volume", "2238-1": "spool", "2239-1": "chamber"}


@pytest.fixture(scope="module")
def shop() -> Scenario:
    return demo_shop(MONDAY)


@pytest.mark.parametrize(
    "today", [MONDAY + timedelta(days=ahead) for ahead in range(7)] + [CLOCKS_FORWARD, CLOCKS_BACK]
)
def test_it_is_valid_and_starts_at_six_on_any_day(today: date) -> None:
    shop = demo_shop(today)
    assert scenario_offences(shop) == ()
    local = shop.site.plan_start.astimezone(ZoneInfo(ZONE))
    assert (local.date(), local.hour, local.minute) == (today, 6, 0)
    assert shop.site.plan_start.utcoffset() == local.utcoffset()


def test_shifts_keep_their_wall_clock_across_a_clock_change() -> None:
    shop = demo_shop(CLOCKS_FORWARD - timedelta(days=2))
    hours = {(shift.start.hour, shift.end.hour) for shift in shop.shifts}
    assert hours == {(6, 14), (9, 12), (14, 22), (7, 13)}
    before, after = shop.shifts[0], shop.shifts[-1]
    assert after.start.utcoffset() != before.start.utcoffset()


def test_people_come_on_weekdays_twice_and_on_saturday(shop: Scenario) -> None:
    zone = ZoneInfo(ZONE)
    days = {shift.start.astimezone(zone).weekday() for shift in shop.shifts}
    assert days == {0, 1, 2, 3, 4, 5}
    assert {shift.hands for shift in shop.shifts} <= {1, 2, 3}
    due = [job.due for job in shop.jobs if job.due is not None]
    assert max(shift.end for shift in shop.shifts) > max(due) + timedelta(days=7)


def test_its_size(shop: Scenario) -> None:
    assert len(shop.printers) == 18
    assert sum(len(printer.heads) == 2 for printer in shop.printers) == 3
    assert [len(shop.dryers), len(shop.ovens), len(shop.spools), len(shop.jobs)] == [5, 2, 45, 110]
    assert len({job.order for job in shop.jobs}) == 40
    polymers = {each.polymer for each in shop.materials}
    assert len(polymers) == 13 and "soluble support" in polymers


def test_four_thermal_classes(shop: Scenario) -> None:
    chambers = [printer.chamber_max_c or 0 for printer in shop.printers]
    assert sum(top == 0 for top in chambers) == 6
    assert sum(60 <= top <= 90 for top in chambers) == 5
    assert sum(120 <= top <= 140 for top in chambers) == 4
    assert sum(top >= 200 for top in chambers) == 3


def test_dryers_ovens_and_bodies(shop: Scenario) -> None:
    assert {dryer.kind for dryer in shop.dryers} == {"batch", "rolling"}
    assert sum(dryer.vacuum for dryer in shop.dryers) == 1
    assert {oven.id for oven in shop.ovens} & {dryer.id for dryer in shop.dryers} == {"old-oven"}
    rows = {each.id: each.drying for each in shop.materials}
    too_soft = [
        spool.id
        for spool in shop.spools
        if all(row.temp_c > spool.body_max_c for row in spool.drying or rows[spool.material])
    ]
    assert "PC-3" in too_soft and len(too_soft) < 5
    assert any(spool.certs for spool in shop.spools) and any(spool.drying for spool in shop.spools)
    assert any(spool.available_from > shop.site.plan_start for spool in shop.spools)
    assert any(spool.dried and spool.exposed_min > 0 for spool in shop.spools)


def test_the_impossible_jobs_are_impossible_for_the_intended_reason(shop: Scenario) -> None:
    matcher = Matcher(shop)
    failing = {job.id for job in shop.jobs if not matcher.fits_something(job.id)}
    assert failing == set(IMPOSSIBLE)
    for job_id, check in IMPOSSIBLE.items():
        nearest = matcher.verdict(job_id).nearest
        assert nearest is not None
        assert check in {reason.check for reason in matcher.failures(job_id, nearest)}


def test_begun_and_pinned_jobs_stand_where_they_fit(shop: Scenario) -> None:
    matcher = Matcher(shop)
    begun = [job for job in shop.jobs if job.progress is not None]
    assert len(begun) == 12
    for job in begun:
        assert job.progress is not None
        assert job.progress.printer in matcher.fitting_printers(job.id), job.id
    pinned = [job for job in shop.jobs if job.pinned is not None]
    assert len(pinned) == 2
    for job in pinned:
        assert job.pinned is not None
        assert job.pinned.printer in matcher.fitting_printers(job.id), job.id


def test_machines_under_way_say_so(shop: Scenario) -> None:
    printers = {printer.id: printer for printer in shop.printers}
    for job in shop.jobs:
        if job.progress is None or len(job.progress.steps) == 6:
            continue
        printer = printers[job.progress.printer]
        mounted = {head.id: head.mounted.spool for head in printer.heads}
        assert all(mounted[choice.head] == choice.spool for choice in job.progress.feeds)
        assert printer.free_at >= job.progress.steps[-1].end
        if job.progress.steps[-1].kind == "print" and printer.chamber_max_c is not None:
            assert printer.chamber_now_c > shop.site.ambient_c


def test_a_tested_lot_is_too_short_for_its_two_jobs(shop: Scenario) -> None:
    asked = [job for job in shop.jobs if "iso10993" in job.feeds[0].certs]
    there = sum(spool.grams for spool in shop.spools if "iso10993" in spool.certs)
    assert sum(job.feeds[0].grams for job in asked) > there
    assert all(job.feeds[0].grams <= there for job in asked)


def test_the_same_seed_gives_the_same_shop_and_another_does_not() -> None:
    assert demo_shop(MONDAY, 3) == demo_shop(MONDAY, 3)
    assert demo_shop(MONDAY, 3) != demo_shop(MONDAY, 4)


def test_every_order_has_a_customer(shop: Scenario) -> None:
    info = orders_info()
    assert {job.order for job in shop.jobs} == set(info)
    assert all(each.customer and each.note for each in info.values())
    assert any(each.confidential for each in info.values())


def test_instants_have_fixed_offsets(shop: Scenario) -> None:
    instant: datetime = shop.shifts[-1].start
    assert (instant + timedelta(days=200)).utcoffset() == instant.utcoffset()
    assert instant.astimezone(UTC) == instant
