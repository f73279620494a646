"""Units of work: all or nothing, one writer after another, and rows that stay as they were recorded."""

from __future__ import annotations

import sqlite3
import threading
from dataclasses import replace
from typing import Any

import pytest

from scheduler.store import (
    Event,
    Order,
    Record,
    RecordError,
    RecordRefused,
    StaleVersion,
    wal_is_safe,
)
from tests.builders import a_job, a_plan, a_planned_job, a_scenario, a_spool, at

EVENT = Event(at(0), "spool changed", "office", "spool", "s1", {"grams": 12.5, "tags": ["ä"]})


@pytest.fixture
def shop(record: Record) -> Record:
    with record.writing() as unit:
        unit.fleet.replace(a_scenario())
    return record


def test_state_and_its_event_are_stored_together(shop: Record) -> None:
    with shop.writing() as unit:
        unit.fleet.save_spool(a_spool(grams=12.5))
        unit.events.append(EVENT)
    with shop.reading() as unit:
        assert unit.fleet.load().spools[0].grams == 12.5
        assert unit.events.list() == (replace(EVENT, number=1),)


def test_an_error_undoes_state_and_event_together(shop: Record) -> None:
    with pytest.raises(ZeroDivisionError), shop.writing() as unit:
        unit.fleet.save_spool(a_spool(grams=12.5))
        unit.events.append(EVENT)
        raise ZeroDivisionError
    with shop.reading() as unit:
        assert unit.fleet.load() == a_scenario()
        assert unit.fleet.version() == 1
        assert unit.events.list() == ()


def test_writers_in_threads_lose_nothing(shop: Record) -> None:
    failures: list[BaseException] = []

    def draw() -> None:
        try:
            for _ in range(20):
                with shop.writing() as unit:
                    spool = unit.fleet.load().spools[0]
                    unit.fleet.save_spool(replace(spool, grams=spool.grams - 1))
                    unit.events.append(EVENT)
        except BaseException as error:
            failures.append(error)

    threads = [threading.Thread(target=draw) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    with shop.reading() as unit:
        assert unit.fleet.load().spools[0].grams == 1000 - 80
        assert unit.fleet.version() == 1 + 80
        assert [event.number for event in unit.events.list()] == list(range(80, 0, -1))


def test_a_reader_sees_one_state_while_others_write(shop: Record, engine_name: str) -> None:
    if engine_name == "sqlite" and not wal_is_safe(sqlite3.sqlite_version_info[:3]):
        pytest.skip("with a rollback journal a writer waits until readers are done")
    with shop.reading() as unit:
        before = unit.fleet.version()
        with shop.writing() as other:
            other.fleet.save_spool(a_spool(grams=1.0))
        assert unit.fleet.version() == before


def test_a_reading_unit_can_change_nothing(shop: Record) -> None:
    with pytest.raises(RecordError), shop.reading() as unit:
        unit.fleet.save_spool(a_spool(grams=1.0))
    with shop.writing() as unit:
        unit.fleet.save_spool(a_spool(grams=2.0))


def test_version_grows_with_each_change_and_guards_against_old_eyes(shop: Record) -> None:
    with shop.writing() as unit:
        seen = unit.fleet.version()
        unit.fleet.expect_version(seen)
        unit.fleet.save_job(a_job("J2"))
        with pytest.raises(StaleVersion, match=f"saw version {seen}, it is now {seen + 1}"):
            unit.fleet.expect_version(seen)


def test_plans_count_up_and_one_at_most_is_published(shop: Record) -> None:
    with shop.writing() as unit:
        numbers = [unit.plans.add(a_plan(jobs=(a_planned_job(late_min=late),))) for late in (0, 5, 9)]
        assert numbers == [1, 2, 3]
        newest = unit.plans.newest_proposal()
        assert newest is not None and newest.number == 3
        unit.plans.publish(1, at(1))
        unit.plans.publish(2, at(2))
        unit.plans.discard(3)
        states = [(plan.number, plan.state, plan.late_jobs) for plan in unit.plans.list()]
        assert states == [(3, "discarded", 1), (2, "published", 1), (1, "replaced", 0)]
        published = unit.plans.published()
        assert published is not None and (published.number, published.published_at) == (2, at(2))
        for number, why in ((3, "discarded"), (2, "published"), (9, "no plan 9")):
            with pytest.raises(RecordRefused, match=why):
                unit.plans.publish(number, at(3))


def test_the_database_itself_allows_one_published_plan(shop: Record) -> None:
    with shop.writing() as unit:
        unit.plans.publish(unit.plans.add(a_plan()), at(0))
        unit.plans.add(a_plan())
    with pytest.raises(RecordRefused), shop.writing() as unit:
        unit.connection.exec_driver_sql("UPDATE plans SET state = 'published', published_at = created_at")


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE events SET who = 'somebody else'",
        "DELETE FROM events",
        "UPDATE plans SET late_cost = 0",
        "DELETE FROM plans",
        "UPDATE planned_jobs SET printer = 'P2'",
        "DELETE FROM planned_steps",
        "UPDATE planned_feeds SET spool = 's9'",
    ],
)
def test_recorded_plans_and_events_can_not_be_rewritten(shop: Record, statement: str) -> None:
    with shop.writing() as unit:
        number = unit.plans.add(a_plan(jobs=(a_planned_job(),)))
        unit.events.append(EVENT)
    with pytest.raises(RecordRefused, match="kept as they were recorded"), shop.writing() as unit:
        unit.connection.exec_driver_sql(statement)
    with shop.reading() as unit:
        stored = unit.plans.get(number)
        assert stored is not None and stored.plan == a_plan(jobs=(a_planned_job(),))
        assert len(unit.events.list()) == 1


def test_events_are_found_by_their_subject(shop: Record) -> None:
    with shop.writing() as unit:
        for id in ("s1", "s2", "s1"):
            unit.events.append(replace(EVENT, subject_id=id))
    with shop.reading() as unit:
        assert [event.number for event in unit.events.list(("spool", "s1"))] == [3, 1]
        assert [event.number for event in unit.events.list(limit=2)] == [3, 2]
        assert unit.events.list(("job", "s1")) == ()


def test_runs_keep_their_figures(shop: Record) -> None:
    with shop.writing() as unit:
        first, second = unit.runs.create(at(0)), unit.runs.create(at(1))
        unit.runs.update(first, state="done", placed=7, late_cost=1.5, doing="x", ended_at=at(2))
        with pytest.raises(RecordRefused, match="no planning run 9"):
            unit.runs.update(9, placed=1)
    with shop.reading() as unit:
        run, latest = unit.runs.get(first), unit.runs.latest()
        assert run is not None and (run.state, run.placed, run.late_cost) == ("done", 7, 1.5)
        assert latest is not None and (latest.id, latest.state, latest.requested_at) == (
            second,
            "waiting",
            at(1),
        )
        assert [open_run.id for open_run in unit.runs.open()] == [second]
        assert unit.runs.get(9) is None


@pytest.mark.parametrize(
    "job",
    [
        a_job("J2", same_lot_as="nobody"),
        a_job("J2", print_min=-1),
        a_job("J2", part="zero \0 byte", print_min=10**30),
        a_job("J2", part="half of a pair \ud800"),
    ],
)
def test_what_the_database_can_not_hold_is_refused_in_words(shop: Record, job: Any) -> None:
    with pytest.raises(RecordRefused, match="nothing was stored"), shop.writing() as unit:
        unit.fleet.save_job(job)
    with shop.reading() as unit:
        assert unit.fleet.load() == a_scenario()


def test_an_order_keeps_its_notes_until_its_last_job_goes(shop: Record) -> None:
    with shop.writing() as unit:
        unit.fleet.save_jobs((a_job("J2", order="A"), a_job("J3", order="A")))
        order = Order("A", "Ostertag Pumps", "call first", True, at(3))
        unit.orders.save(order)
    with shop.writing() as unit:
        assert unit.orders.get("A") == order
        assert [known.id for known in unit.orders.list()] == ["A", "o-J1"]
        assert unit.fleet.remove_job("J2") is True
        assert unit.fleet.remove_job("J2") is False
        assert unit.orders.get("A") == order
        unit.fleet.replace(unit.fleet.load())
        assert unit.orders.get("A") == order
        unit.fleet.remove_job("J3")
        assert unit.orders.get("A") is None


def test_many_jobs_are_saved_as_one_change(shop: Record) -> None:
    with shop.writing() as unit:
        unit.fleet.save_jobs((a_job("J2"), a_job("J1", quantity=3), a_job("J0", same_lot_as="J2")))
    with shop.reading() as unit:
        assert unit.fleet.version() == 2
        assert [(job.id, job.quantity) for job in unit.fleet.load().jobs] == [("J1", 3), ("J2", 1), ("J0", 1)]
