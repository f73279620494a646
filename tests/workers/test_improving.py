"""The first plan of a hurried start, made better once the compiled search is there."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest

from demo_fleet import generate
from scheduler.model import Plan
from scheduler.office import plans
from scheduler.office.shop import import_scenario
from scheduler.store import Record
from workers.closing import close_run
from workers.improving import TRIES, Improving, is_better

SHOP = generate("S", 1)
START = SHOP.site.plan_start


class AtOnce:
    """A runner that carries runs out in the caller's thread."""

    def __init__(self, record: Record, *seconds: float) -> None:
        self.record, self.seconds, self.runs = record, list(seconds), 0

    def start(self, run_id: int) -> None:
        self.runs += 1
        seconds = self.seconds.pop(0) if len(self.seconds) > 1 else self.seconds[0]
        plans.carry_out(self.record, lambda: START, run_id, seconds, 1)

    def stop(self, run_id: int) -> None: ...

    def reconcile(self) -> None: ...

    def close(self) -> None: ...


@pytest.fixture
def shop(record: Record) -> Record:
    """A recorded shop with a published first plan."""
    import_scenario(record, lambda: START, SHOP)
    number = plans.carry_out(record, lambda: START, plans.request_plan(record, lambda: START), 0.0, 1)
    assert number == 1
    plans.publish(record, lambda: START, number)
    return record


class ThrownAway(AtOnce):
    """Somebody throws each run away."""

    def start(self, run_id: int) -> None:
        self.runs += 1
        close_run(self.record, START, run_id, "stopped", "Thrown away.")


def run(record: Record, *seconds: float) -> int:
    """Let it work with runs of so many seconds, the last for all that follow; how many it made."""
    return run_with(record, AtOnce(record, *seconds))


def run_with(record: Record, runner: AtOnce) -> int:
    """Let it work with that runner; how many runs it made."""
    asked = threading.Event()

    def ready() -> bool:
        # Not at the first look.
        was = asked.is_set()
        asked.set()
        return was

    improving = Improving(record, lambda: START, runner, ready, again_s=0.05)
    improving.start()
    improving._thread.join(timeout=60)
    assert not improving._thread.is_alive()
    return runner.runs


def published(record: Record) -> Plan:
    with record.reading() as unit:
        stored = unit.plans.published()
    assert stored is not None
    return stored.plan


def test_better_plan_takes_the_place_of_the_first(shop: Record) -> None:
    first = published(shop)
    assert run(shop, 2.0) == 1
    assert published(shop).late_cost < first.late_cost


def test_a_run_that_found_nothing_better_is_tried_again(shop: Record) -> None:
    first = published(shop)
    # As on a busy machine, where a run's time is over before it has begun to search.
    assert run(shop, 0.0, 2.0) == 2
    assert published(shop).late_cost < first.late_cost


def test_a_run_that_somebody_throws_away_is_not_made_again(shop: Record) -> None:
    first = published(shop)
    assert run_with(shop, ThrownAway(shop, 2.0)) == 1
    assert published(shop).late_cost == first.late_cost


def test_a_proposal_that_somebody_looks_at_is_left_alone(shop: Record) -> None:
    first = published(shop)
    plans.carry_out(shop, lambda: START, plans.request_plan(shop, lambda: START), 1.0, 1)
    assert run(shop, 2.0) == 0
    assert published(shop).late_cost == first.late_cost
    with shop.reading() as unit:
        assert unit.plans.newest_proposal() is not None


def test_plan_that_is_no_better_is_put_aside(shop: Record) -> None:
    run(shop, 2.0)
    best = published(shop)
    assert run(shop, 0.0) == TRIES
    assert published(shop).late_cost == best.late_cost
    with shop.reading() as unit:
        assert unit.plans.newest_proposal() is None


def test_somebody_elses_run_is_left_alone(shop: Record) -> None:
    first = published(shop)
    plans.request_plan(shop, lambda: START)
    assert run(shop, 2.0) == 0
    assert published(shop).late_cost == first.late_cost


def test_only_jobs_that_both_plans_have_are_compared(shop: Record) -> None:
    plan = published(shop)
    weights = {job.id: job.weight for job in SHOP.jobs}
    late = max(plan.jobs, key=lambda planned: planned.late_min)
    assert late.late_min > 0
    without = replace(plan, jobs=tuple(planned for planned in plan.jobs if planned != late))
    assert not is_better(without, plan, weights)
    sooner = replace(plan, jobs=(*without.jobs, replace(late, late_min=late.late_min - 1)))
    assert is_better(sooner, plan, weights)
