"""The shop at a later minute along a plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from demo_fleet import demo_shop
from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash, scenario_offences
from scheduler.planning import make_plan
from scheduler.planning.advance import advance
from tests.planning.random_shops import random_shop


def a_plan_of(scenario: Scenario, previous: Plan | None = None) -> Plan:
    return make_plan(
        scenario,
        scenario_hash=scenario_hash(scenario),
        made_at=scenario.site.plan_start,
        timer=lambda: 0.0,
        previous=previous,
    )


def instants(scenario: Scenario, plan: Plan) -> list[datetime]:
    """Some minutes worth a look: each side of steps and runs, and after everything."""
    edges = {step.start for job in plan.jobs for step in job.steps}
    edges |= {run.end for run in plan.dryer_runs} | {run.start for run in plan.oven_runs}
    later = sorted(edge for edge in edges if edge > scenario.site.plan_start)
    if not later:
        return [scenario.site.plan_start + timedelta(minutes=1)]
    chosen = later[:: max(1, len(later) // 5)]
    return [*chosen, chosen[0] + timedelta(minutes=1), later[-1] + timedelta(days=2)]


def follow(scenario: Scenario, plan: Plan, now: datetime) -> Scenario:
    """Advance, and hold what must be true of every later shop."""
    later = advance(scenario, plan, now)
    assert scenario_offences(later) == ()
    assert later.site.plan_start == now
    planned = {job.job: job for job in plan.jobs}
    for job in later.jobs:
        if job.id in planned and planned[job.id].steps[0].start < now:
            assert job.progress is not None
            begun = [step for step in planned[job.id].steps if step.start < now]
            assert list(job.progress.steps) == begun
        else:
            assert job.progress is None
    asked = {job.same_lot_as for job in later.jobs}
    for job in scenario.jobs:
        done = job.id in planned and planned[job.id].done <= now
        if not done:
            assert job.id in {j.id for j in later.jobs} or planned[job.id].done > now
        elif job.id in {j.id for j in later.jobs}:
            assert job.id in asked
    return later


@pytest.mark.parametrize("seed", range(60))
def test_every_later_shop_can_be_planned_again(seed: int) -> None:
    scenario = random_shop(seed)
    plan = a_plan_of(scenario)
    for now in instants(scenario, plan):
        later = follow(scenario, plan, now)
        assert check(later, a_plan_of(later, plan), scenario_hash(later)) == ()


def test_the_demo_shop_is_followed_through_its_week() -> None:
    scenario = demo_shop(date(2031, 3, 3))
    plan = a_plan_of(scenario)
    start = scenario.site.plan_start
    waiting = len(scenario.jobs)
    for hours in (1, 7, 26, 75, 200):
        later = follow(scenario, plan, start + timedelta(hours=hours))
        assert len(later.jobs) <= waiting
        waiting = len(later.jobs)
        assert check(later, a_plan_of(later, plan), scenario_hash(later)) == ()
    assert waiting < len(scenario.jobs) / 2


def test_advance_refuses_to_go_back() -> None:
    scenario = random_shop(1)
    with pytest.raises(ValueError, match="lies before"):
        advance(scenario, a_plan_of(scenario), scenario.site.plan_start - timedelta(minutes=1))


@pytest.mark.parametrize("seed", range(40))
def test_what_was_taken_out_of_the_shop_is_not_carried_out(seed: int) -> None:
    scenario = random_shop(seed)
    plan = a_plan_of(scenario)
    free = [
        job.id
        for job in scenario.jobs
        if job.progress is None and not any(other.same_lot_as == job.id for other in scenario.jobs)
    ]
    gone = set(free[::2])
    less = replace(scenario, jobs=tuple(job for job in scenario.jobs if job.id not in gone))
    for now in instants(scenario, plan):
        later = advance(less, plan, now)
        assert scenario_offences(later) == ()
        assert not gone.intersection(job.id for job in later.jobs)
