"""A plan put back minute for minute, and a plan that replaces another."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model import Downtime, Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.advance import advance
from scheduler.planning.compiled import compiled_kernels, is_built
from scheduler.planning.construct import Base
from scheduler.planning.problem import make_task
from scheduler.planning.replay import put_back, rows_of
from scheduler.planning.result import cost_of
from tests.planning.days import live_through
from tests.planning.random_shops import random_shop


def planned(scenario: Scenario, rounds: int | None = None, previous: Plan | None = None) -> Plan:
    return make_plan(
        scenario,
        scenario_hash=scenario_hash(scenario),
        made_at=scenario.site.plan_start,
        rounds=rounds,
        chains=1,
        previous=previous,
    )


@pytest.mark.parametrize("able", [False, True])
@pytest.mark.parametrize("seed", range(50))
def test_any_plan_is_put_back_to_the_minute(seed: int, able: bool) -> None:
    scenario = random_shop(seed, able)
    plan = planned(scenario)
    task = make_task(scenario)
    rows = rows_of(task, plan)
    state, exact = put_back(task, Base(task).begun_state(), rows)
    begun = {job.id for job in scenario.jobs if job.progress is not None}
    assert exact == len(rows.jobs) == sum(job.job not in begun for job in plan.jobs)
    cost = cost_of(task, state)
    assert cost.late_hours == pytest.approx(plan.late_cost, abs=1e-5)
    assert (cost.attended_min, cost.preheat_min) == (plan.attended_min, plan.preheat_min)


def test_a_searched_plan_is_put_back_by_the_compiled_kernels() -> None:
    if not is_built():
        compiled_kernels()
    scenario = generate("S", 4)
    plan = planned(scenario, rounds=4000)
    task = make_task(scenario)
    rows = rows_of(task, plan)
    state, exact = put_back(task, Base(task).begun_state(), rows, compiled_kernels())
    plain, exact_plain = put_back(task, Base(task).begun_state(), rows)
    assert exact == exact_plain == len(rows.jobs)
    assert state.begin == plain.begin and state.change == plain.change and state.hands == plain.hands


def test_nothing_moves_when_nothing_has_happened() -> None:
    scenario = generate("S", 2)
    plan = planned(scenario, rounds=4000)
    again = planned(scenario, previous=plan)
    where = {job.job: (job.printer, job.steps) for job in plan.jobs}
    assert {job.job: (job.printer, job.steps) for job in again.jobs} == where
    assert again.late_cost == plan.late_cost


@pytest.mark.parametrize(("size", "seed", "hours"), [("S", 1, 1), ("S", 3, 9), ("M", 2, 2), ("M", 3, 14)])
def test_hours_in_which_all_goes_as_planned_change_nothing(size: str, seed: int, hours: int) -> None:
    scenario = generate(size, seed)
    plan = planned(scenario, rounds=4000)
    later = advance(scenario, plan, scenario.site.plan_start + timedelta(hours=hours))
    begun = {job.id for job in later.jobs if job.progress is not None}
    again = planned(later, previous=plan)
    assert begun and check(later, again, scenario_hash(later)) == ()
    there = {job.id for job in later.jobs}
    where = {job.job: (job.printer, job.steps[2:]) for job in plan.jobs if job.job in there}
    for job in again.jobs:
        printer, steps = where[job.job]
        assert job.printer == printer
        if job.job in begun:
            assert job.steps[-1].start <= steps[-1].start
        else:
            assert job.steps[2:] == steps


def test_a_print_under_way_comes_off_sooner_once_somebody_is_there() -> None:
    scenario = generate("S", 1)
    plan = planned(scenario, rounds=4000)
    now = scenario.site.plan_start + timedelta(hours=20)
    later = advance(scenario, plan, now)
    waits = {
        job.job: job.steps[-1].start
        for job in plan.jobs
        if job.steps[0].start < now < job.steps[-2].end < job.steps[-1].start - timedelta(hours=1)
    }
    assert waits
    off = min(step.end for job in plan.jobs if job.job in waits for step in job.steps[-2:-1])
    watch = replace(later.shifts[0], start=now, end=off + timedelta(hours=8), hands=3)
    eased = replace(later, shifts=(*later.shifts, watch))
    again = planned(eased, previous=plan)
    assert check(eased, again, scenario_hash(eased)) == ()
    sooner = [job for job in again.jobs if job.job in waits and job.steps[-1].start < waits[job.job]]
    assert sooner


def test_asked_twice_prints_under_way_still_come_off_sooner() -> None:
    scenario = generate("S", 1)
    plan = planned(scenario, rounds=4000)
    later = advance(scenario, plan, scenario.site.plan_start + timedelta(hours=20))
    start = later.site.plan_start
    watch = replace(later.shifts[0], start=start, end=start + timedelta(hours=48), hands=3)
    base = Base(make_task(replace(later, shifts=(*later.shifts, watch)), plan), plan, steady=True)
    kept = base.begun_state().unload
    base.hurry(None)
    sooner = base.begun_state().unload
    base.hurry(None)
    assert sum(sooner) < sum(kept) and base.begun_state().unload == sooner


def test_when_a_machine_stops_its_jobs_alone_must_move() -> None:
    scenario = generate("M", 3)
    plan = planned(scenario, rounds=4000)
    now = scenario.site.plan_start + timedelta(hours=4)
    later = advance(scenario, plan, now)
    busy = {job.progress.printer for job in later.jobs if job.progress is not None}
    waiting = {job.printer for job in plan.jobs if job.steps[0].start >= now}
    stopped = min(waiting - busy)
    over = max(shift.end for shift in later.shifts)
    printers = tuple(
        replace(p, downtime=(*p.downtime, Downtime(now, over, "broken"))) if p.id == stopped else p
        for p in later.printers
    )
    hurt = replace(later, printers=printers)
    repaired = planned(hurt, previous=plan)
    assert check(hurt, repaired, scenario_hash(hurt)) == ()
    before = {job.job: job.printer for job in plan.jobs}
    assert all(job.printer != stopped or job.steps[0].start < now for job in repaired.jobs)
    elsewhere = [job for job in repaired.jobs if before.get(job.job) not in (stopped, None)]
    moved = [job for job in elsewhere if job.printer != before[job.job]]
    assert len(moved) <= 0.1 * len(elsewhere)


@pytest.mark.parametrize("able", [False, True])
def test_random_days_leave_valid_plans(able: bool) -> None:
    made, broken = 0, []
    for seed in range(9000, 9040):
        plans, lines = live_through(seed, able)
        made += plans
        broken += lines
    assert broken == []
    assert made > 80
