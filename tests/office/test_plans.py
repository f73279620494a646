"""Plans asked for, made, refused, published and put aside."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from scheduler import planning
from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.office import plans
from scheduler.office.fleet import save_printer
from scheduler.office.refused import Refused
from scheduler.store import NoShop, PlanningRun, Record
from tests.builders import a_printer, at
from tests.office.conftest import StandingClock


def run_of(record: Record, run_id: int) -> PlanningRun:
    with record.reading() as unit:
        run = unit.runs.get(run_id)
    assert run is not None
    return run


def planned_by(monkeypatch: pytest.MonkeyPatch, planner: Callable[..., Plan]) -> None:
    monkeypatch.setattr(planning, "make_plan", planner)


def test_a_run_makes_a_checked_proposal(shop: Record, clock: StandingClock, scenario: Scenario) -> None:
    run_id = plans.request_plan(shop, clock)
    assert run_of(shop, run_id).state == "waiting"
    number = plans.carry_out(shop, clock, run_id, seconds=0.0, seed=1)
    assert number == 1
    run = run_of(shop, run_id)
    assert (run.state, run.plan_number, run.jobs, run.ended_at) == ("done", 1, 1, at(0))
    with shop.reading() as unit:
        stored = unit.plans.get(1)
        kinds = [(event.kind, event.who) for event in unit.events.list()]
    assert stored is not None and stored.state == "proposal"
    assert stored.plan.scenario_hash == scenario_hash(scenario)
    assert check(scenario, stored.plan) == ()
    assert kinds == [("plan proposed", "planner"), ("plan asked for", "office")]


def test_publishing_needs_the_shop_that_was_planned(shop: Record, clock: StandingClock) -> None:
    first = plans.carry_out(shop, clock, plans.request_plan(shop, clock), 0.0, 1)
    second = plans.carry_out(shop, clock, plans.request_plan(shop, clock), 0.0, 1)
    assert (first, second) == (1, 2)
    plans.publish(shop, clock, 1)
    with pytest.raises(Refused, match="plan 1 is published, not a proposal"):
        plans.publish(shop, clock, 1)
    with pytest.raises(Refused, match="no plan 7"):
        plans.publish(shop, clock, 7)
    save_printer(shop, clock, a_printer(speed_factor=2.0))
    with pytest.raises(Refused, match=r"changed since plan 2 was made .*plan again"):
        plans.publish(shop, clock, 2)
    plans.discard(shop, clock, 2)
    with pytest.raises(Refused, match="plan 2 is discarded"):
        plans.discard(shop, clock, 2)
    with pytest.raises(Refused, match="no plan 7"):
        plans.discard(shop, clock, 7)
    with shop.reading() as unit:
        assert [plan.state for plan in unit.plans.list()] == ["discarded", "published"]


def test_one_run_at_a_time_and_none_without_a_shop(record: Record, clock: StandingClock) -> None:
    with pytest.raises(NoShop):
        plans.request_plan(record, clock)


def test_asking_twice_names_the_run_that_is_made(shop: Record, clock: StandingClock) -> None:
    run_id = plans.request_plan(shop, clock)
    with pytest.raises(plans.AlreadyPlanning, match=f"run {run_id}") as caught:
        plans.request_plan(shop, clock)
    assert caught.value.run_id == run_id


def test_a_plan_that_breaks_rules_is_never_stored(
    shop: Record, clock: StandingClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    make = planning.make_plan

    def careless(scenario: Scenario, **options: Any) -> Plan:
        plan = make(scenario, **options)
        return replace(plan, late_cost=plan.late_cost + 5, jobs=())

    planned_by(monkeypatch, careless)
    run_id = plans.request_plan(shop, clock)
    assert plans.carry_out(shop, clock, run_id, 0.0, 1) is None
    run = run_of(shop, run_id)
    assert run.state == "failed"
    assert "broke rules and was not stored" in run.message and "J1" in run.message
    with shop.reading() as unit:
        assert unit.plans.list() == ()
        assert unit.events.list()[0].kind == "plan failed"


def test_a_planner_that_breaks_fails_its_run_in_words(
    shop: Record, clock: StandingClock, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*_: Any, **__: Any) -> Plan:
        raise IndexError("list index out of range")

    planned_by(monkeypatch, broken)
    run_id = plans.request_plan(shop, clock)
    assert plans.carry_out(shop, clock, run_id, 0.0, 1) is None
    run = run_of(shop, run_id)
    assert run.state == "failed"
    assert run.message.startswith("The planner broke off (IndexError: list index out of range)")
    assert "Traceback" in caplog.text
    assert plans.request_plan(shop, clock) == run_id + 1


def test_a_run_is_taken_up_once(shop: Record, clock: StandingClock) -> None:
    run_id = plans.request_plan(shop, clock)
    plans.carry_out(shop, clock, run_id, 0.0, 1)
    with pytest.raises(Refused, match="does not wait for a worker: it is done"):
        plans.carry_out(shop, clock, run_id, 0.0, 1)
    with pytest.raises(Refused, match="no planning run 5"):
        plans.carry_out(shop, clock, 5, 0.0, 1)


def test_runs_of_a_dead_worker_are_failed(shop: Record, clock: StandingClock) -> None:
    run_id = plans.request_plan(shop, clock)
    with shop.writing() as unit:
        unit.runs.update(run_id, state="working", heartbeat_at=at(10))
    clock.now = at(10) + plans.LOST_AFTER
    assert plans.reconcile_runs(shop, clock) == ()
    clock.now += timedelta(seconds=1)
    assert plans.reconcile_runs(shop, clock) == (run_id,)
    run = run_of(shop, run_id)
    assert (run.state, run.ended_at) == ("failed", clock.now)
    assert "no sign of life for 61 s" in run.message


def test_a_run_that_nobody_took_up_does_not_block_the_next(shop: Record, clock: StandingClock) -> None:
    run_id = plans.request_plan(shop, clock)
    clock.now = at(16)
    assert plans.request_plan(shop, clock) == run_id + 1
    assert run_of(shop, run_id).state == "failed"
    assert "No worker took this run up within 15 min" in run_of(shop, run_id).message


def test_a_worker_gives_signs_of_life(
    shop: Record, clock: StandingClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    make = planning.make_plan
    monkeypatch.setattr(plans, "HEARTBEAT_S", 0.02)

    def slow(scenario: Scenario, **options: Any) -> Plan:
        clock.now = at(7)
        deadline = time.monotonic() + 10
        while run_of(shop, 1).heartbeat_at != at(7):
            assert time.monotonic() < deadline
            time.sleep(0.02)
        clock.now = at(0)
        return make(scenario, **options)

    planned_by(monkeypatch, slow)
    assert plans.carry_out(shop, clock, plans.request_plan(shop, clock), 0.0, 1) == 1
