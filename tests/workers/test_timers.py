"""Looking at the clock: what is due is enqueued once, by whichever server looks first."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from demo_fleet import generate
from scheduler.office import plans
from scheduler.office.config import Config
from scheduler.office.shop import import_scenario
from scheduler.office.timers import HUMID_WEEK
from scheduler.store import Record
from workers import make_timers
from workers.timers import ChildQueue, Timers

SHOP = generate("S", 2)
START = SHOP.site.plan_start
DUE = HUMID_WEEK.newest(START + timedelta(days=7), ZoneInfo(SHOP.site.timezone))
PATIENCE_S = 90.0

Enqueued = list[tuple[str, datetime, str]]


@pytest.fixture
def shop(record: Record) -> Iterator[Record]:
    import_scenario(record, lambda: START, SHOP)
    number = plans.carry_out(record, lambda: START, plans.request_plan(record, lambda: START), 0.0, 1)
    assert number is not None
    plans.publish(record, lambda: START, number)
    yield record


def test_two_servers_that_look_at_once_enqueue_once(shop: Record) -> None:
    enqueued: Enqueued = []
    servers = [
        Timers(Record(shop.url.render_as_string(False)), lambda: DUE, lambda *work: enqueued.append(work))
        for _ in range(2)
    ]
    gate = threading.Barrier(8)

    def look(server: Timers) -> None:
        gate.wait()
        server.look(HUMID_WEEK)

    threads = [threading.Thread(target=look, args=(servers[number % 2],)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [(name, due) for name, due, _ in enqueued] == [(HUMID_WEEK.name, DUE)]


def test_a_record_that_can_not_be_reached_is_looked_at_again_later(caplog: pytest.LogCaptureFixture) -> None:
    enqueued: Enqueued = []
    timers = Timers(
        Record("sqlite:////no/such/folder/shop.sqlite3"), lambda: DUE, lambda *work: enqueued.append(work)
    )
    timers.look(HUMID_WEEK)
    assert enqueued == [] and "could not look" in caplog.text


def test_the_clockwork_is_declared_with_its_grace_and_ends(shop: Record) -> None:
    timers = make_timers(Config.from_env({}), shop, lambda: START)
    timers.start()
    try:
        jobs = timers._scheduler.get_jobs()
        assert [job.id for job in jobs] == [HUMID_WEEK.name]
        assert all(job.coalesce and job.max_instances == 1 and job.misfire_grace_time == 300 for job in jobs)
    finally:
        timers.close()
    assert not timers._scheduler.running
    timers.close()


def test_a_child_process_does_the_work(shop: Record) -> None:
    url = shop.url.render_as_string(False)
    timers = Timers(shop, lambda: DUE, ChildQueue(Config.from_env({"SOAKLINE_DATABASE_URL": url})))
    timers.look(HUMID_WEEK)
    deadline = time.monotonic() + PATIENCE_S
    while True:
        with shop.reading() as unit:
            found, state = unit.water.humid_check(), unit.timers.get(HUMID_WEEK.name)
        if state.served_for is not None:
            break
        assert time.monotonic() < deadline, "the child did not end"
        time.sleep(0.1)
    assert state.failed == "" and state.served_for == DUE
    assert found is not None and found.plan_number == 1 and found.who == "timer"
