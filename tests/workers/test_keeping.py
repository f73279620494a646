"""After a surprise on the floor a plan is made by itself, and published only within the limits."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta

from scheduler.floor import commands as wish
from scheduler.office import plans
from scheduler.office.straying import beyond_limits, wanted
from tests.builders import a_plan, a_planned_job, at
from tests.floor.conftest import Clock, FloorOf, clock, floor, record, scenario
from workers.keeping import Keeping

__all__ = ["clock", "floor", "record", "scenario"]


@dataclass
class AtOnce:
    """A runner that carries a run out before it answers."""

    floor: FloorOf
    started: list[int] = field(default_factory=list)

    def start(self, run_id: int) -> None:
        self.started.append(run_id)
        plans.carry_out(self.floor.record, self.floor.clock, run_id, 0.0, 1)

    def stop(self, run_id: int) -> None: ...
    def reconcile(self) -> None: ...
    def close(self) -> None: ...


def published(floor: FloorOf) -> int | None:
    with floor.record.reading() as unit:
        return unit.plans.published_number()


def test_nothing_is_planned_while_all_goes_as_planned(floor: FloorOf, clock: Clock) -> None:
    runner = AtOnce(floor)
    floor.touch(wish.Pull("J1", "P1"))
    assert Keeping(floor.record, clock, runner).look() and runner.started == []


def test_a_machine_down_makes_a_plan_that_is_published_within_the_limits(
    floor: FloorOf, clock: Clock
) -> None:
    runner = AtOnce(floor)
    clock.on(3)
    floor.touch(wish.MachineDown("P1", "belt", clock.now + timedelta(hours=9)))
    with floor.record.reading() as unit:
        found = wanted(unit)
    assert found is not None and found.why == "P1 is out of use: belt"
    keeping = Keeping(floor.record, clock, runner)
    assert keeping.look()
    assert published(floor) == 2, "nothing is due, so nothing can be later than its due"
    with floor.record.reading() as unit:
        assert wanted(unit) is None
    assert keeping.look() and runner.started == [1], "one plan is enough"


def test_a_plan_beyond_the_limits_waits_for_a_person(floor: FloorOf, clock: Clock) -> None:
    floor.desk.set_limits(False, 30, "Ada")
    floor.touch(wish.MachineDown("P1", "belt", clock.now + timedelta(hours=9)))
    Keeping(floor.record, clock, AtOnce(floor)).look()
    assert published(floor) == 1
    with floor.record.reading() as unit:
        told = [event for event in unit.events.list() if event.kind == "plan waits for a person"]
    assert told[0].data["why"] == "plans are published by a person here"


def test_a_plan_that_the_floor_has_overtaken_is_not_published(floor: FloorOf, clock: Clock) -> None:
    floor.touch(wish.Pull("J1", "P1"))
    run = plans.request_plan(floor.record, clock)
    number = plans.carry_out(floor.record, clock, run, 0.0, 1)
    assert number is not None
    floor.touch(wish.Hold("J2", "drawing"))
    try:
        plans.publish(floor.record, clock, number)
    except plans.Refused as refused:
        assert "J2 is on hold: drawing" in str(refused)
    else:
        raise AssertionError("published against what happened")


def test_limits_look_at_late_jobs_alone() -> None:
    old = a_plan(jobs=(a_planned_job("J1"),))
    later = a_planned_job("J1", done=at(200))
    assert beyond_limits(old, a_plan(jobs=(later,)), 30) is None, "it is not late"
    late = a_planned_job("J1", done=at(200), late_min=10)
    assert beyond_limits(old, a_plan(jobs=(late,)), 30) == "J1 would be 44 min later than published"
    assert beyond_limits(old, a_plan(jobs=(late,)), 44) is None
