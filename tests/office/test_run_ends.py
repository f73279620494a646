"""A run that is watched, and ended before its time."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import pytest

from scheduler import planning
from scheduler.model import Plan, Scenario
from scheduler.office import plans, run_ends
from scheduler.office.refused import Refused
from scheduler.office.run_progress import PROGRESS_S, with_point
from scheduler.planning import Progress
from scheduler.store import PlanningRun, Record
from tests.office.conftest import StandingClock


def run_of(record: Record, run_id: int) -> PlanningRun:
    with record.reading() as unit:
        run = unit.runs.get(run_id)
    assert run is not None
    return run


def events_of(record: Record) -> list[tuple[str, str]]:
    with record.reading() as unit:
        return [(event.kind, event.who) for event in unit.events.list()]


def planned_by(monkeypatch: pytest.MonkeyPatch, planner: Callable[..., Plan]) -> None:
    monkeypatch.setattr(planning, "make_plan", planner)


def test_progress_is_recorded_but_not_at_every_step(
    shop: Record, clock: StandingClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    make = planning.make_plan
    seen: set[int] = set()

    def chatty(scenario: Scenario, **options: Any) -> Plan:
        for placed in range(200):
            options["on_progress"](Progress(0.1, placed, 200, 3.5, "placing"))
            seen.add(run_of(shop, 1).placed)
        return make(scenario, **options)

    planned_by(monkeypatch, chatty)
    begun = time.monotonic()
    assert plans.carry_out(shop, clock, plans.request_plan(shop, clock), 0.0, 1) == 1
    assert 1 <= len(seen) <= 2 + (time.monotonic() - begun) / PROGRESS_S


def test_a_stopped_run_ends_at_its_next_progress(
    shop: Record, clock: StandingClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    make = planning.make_plan

    def stopped_midway(scenario: Scenario, **options: Any) -> Plan:
        run_ends.throw_away(shop, clock, 1, "Mara")
        options["on_progress"](Progress(0.1, 0, 1, None, "placing"))
        return make(scenario, **options)

    planned_by(monkeypatch, stopped_midway)
    assert plans.carry_out(shop, clock, plans.request_plan(shop, clock), 0.0, 1) is None
    run = run_of(shop, 1)
    assert (run.state, run.message) == ("stopped", "Mara threw it away.")
    with pytest.raises(Refused, match="ended already"):
        run_ends.throw_away(shop, clock, 1, "Mara")
    with pytest.raises(Refused, match="no planning run 8"):
        run_ends.throw_away(shop, clock, 8)


def test_a_run_stopped_during_the_last_steps_stores_nothing(
    shop: Record, clock: StandingClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    make = planning.make_plan

    def stopped_at_the_end(scenario: Scenario, **options: Any) -> Plan:
        plan = make(scenario, **options)
        run_ends.throw_away(shop, clock, 1, "Mara")
        return plan

    planned_by(monkeypatch, stopped_at_the_end)
    assert plans.carry_out(shop, clock, plans.request_plan(shop, clock), 0.0, 1) is None
    with shop.reading() as unit:
        assert unit.plans.list() == ()


def test_the_course_is_kept_while_the_run_goes_on(
    shop: Record, clock: StandingClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    make = planning.make_plan
    seen: list[PlanningRun] = []

    def improving(scenario: Scenario, **options: Any) -> Plan:
        for seconds, late, bound in ((0.0, None, None), (1.0, 9.5, 2.0), (2.0, 9.5, 2.5), (3.0, 4.0, 3.0)):
            options["on_progress"](Progress(seconds, 1, 1, late, "placing", bound))
            time.sleep(PROGRESS_S)
            seen.append(run_of(shop, 1))
        return make(scenario, **options)

    planned_by(monkeypatch, improving)
    assert plans.carry_out(shop, clock, plans.request_plan(shop, clock), 0.0, 1) == 1
    assert [run.lower_bound for run in seen] == [None, 2.0, 2.5, 3.0]
    assert [run.trail for run in seen] == [(), ((1.0, 9.5),), ((1.0, 9.5),), ((1.0, 9.5), (3.0, 4.0))]
    assert all(run.message == "" for run in (*seen, run_of(shop, 1)))
    assert run_of(shop, 1).trail == ()


def test_a_long_course_is_thinned_but_keeps_its_ends() -> None:
    trail: tuple[tuple[float, float], ...] = ()
    for step in range(1000):
        trail = with_point(trail, (float(step), 1000.0 - step), most=20)
        assert len(trail) <= 20
    assert trail[0] == (0.0, 1000.0) and trail[-1] == (999.0, 1.0)
    assert list(trail) == sorted(trail)
    assert with_point(trail, (2000.0, 1.0), most=20) == trail


def test_the_best_plan_is_kept_when_somebody_has_seen_enough(
    shop: Record, clock: StandingClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    make = planning.make_plan
    stops: list[bool] = []

    def enough_midway(scenario: Scenario, **options: Any) -> Plan:
        stops.append(options["stop"]())
        run_ends.keep_best(shop, clock, 1, "Mara")
        run_ends.keep_best(shop, clock, 1, "Jon")
        options["on_progress"](Progress(0.1, 0, 1, None, "placing"))
        stops.append(options["stop"]())
        return make(scenario, **options)

    planned_by(monkeypatch, enough_midway)
    assert plans.carry_out(shop, clock, plans.request_plan(shop, clock), 600.0, 1) == 1
    assert stops == [False, True]
    assert run_of(shop, 1).state == "done"
    with shop.reading() as unit:
        proposed, asked = unit.events.list()[:2]
        assert unit.plans.get(1) is not None
    # The first who asked is who ended it.
    assert (proposed.kind, proposed.data["ended_by"]) == ("plan proposed", "Mara")
    assert (asked.kind, asked.who, asked.subject_id) == (run_ends.KEPT, "Mara", "1")
    with pytest.raises(run_ends.EndedAlready, match="ended already") as caught:
        run_ends.keep_best(shop, clock, 1)
    assert caught.value.run.plan_number == 1
    with pytest.raises(Refused, match="no planning run 8"):
        run_ends.keep_best(shop, clock, 8)


def test_a_run_that_waits_is_ended_with_its_first_plan(shop: Record, clock: StandingClock) -> None:
    run_id = plans.request_plan(shop, clock)
    run_ends.keep_best(shop, clock, run_id, "Mara")
    assert run_of(shop, run_id).state == "waiting"
    assert plans.carry_out(shop, clock, run_id, 600.0, 1) == 1
    with shop.reading() as unit:
        stored = unit.plans.get(1)
    assert stored is not None and stored.plan.seconds < 600
    assert run_of(shop, run_id).state == "done"


def test_what_was_to_be_kept_can_still_be_thrown_away(shop: Record, clock: StandingClock) -> None:
    run_id = plans.request_plan(shop, clock)
    run_ends.keep_best(shop, clock, run_id, "Mara")
    run_ends.throw_away(shop, clock, run_id, "Jon")
    assert run_of(shop, run_id).message == "Jon threw it away."
    assert events_of(shop)[:2] == [(run_ends.THROWN_AWAY, "Jon"), (run_ends.KEPT, "Mara")]
    with pytest.raises(Refused, match="does not wait for a worker: it is stopped"):
        plans.carry_out(shop, clock, run_id, 0.0, 1)
