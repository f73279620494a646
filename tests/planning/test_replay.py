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


@pytest.mark.parametrize("seed", range(60))
def test_any_plan_is_put_back_to_the_minute(seed: int) -> None:
    scenario = random_shop(seed)
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


def test_random_days_leave_valid_plans() -> None:
    made, broken = 0, []
    for seed in range(9000, 9040):
        plans, lines = live_through(seed)
        made += plans
        broken += lines
    assert broken == []
    assert made > 80
