"""A job is left out only if it has no place beside the rest."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduler.checking import check
from scheduler.checking.forced import excuse
from scheduler.checking.judge import rule_breaches
from scheduler.checking.left_out import find_place, with_place
from scheduler.checking.reading import read
from scheduler.checking.room import Room
from scheduler.checking.view import View
from scheduler.matching import Matcher
from scheduler.model import Plan, Reason, Scenario, Unplaced
from scheduler.model.codec import read_plan_file, read_scenario_file
from tests.builders import (
    WORKED_EXAMPLE,
    a_dryer,
    a_drying_row,
    a_job,
    a_material,
    a_pin,
    a_plan,
    a_planned_job,
    a_scenario,
    a_shift,
    a_spool,
    at,
)
from tests.checking.test_twin import planned
from tests.checking.twin import found


def left_out(job: str, why: str = "horizon") -> Unplaced:
    return Unplaced(job, (Reason(why, None, None, None, None, None, "hands: so it is said"),))


def places_told(scenario: Scenario, plan: Plan) -> list[str]:
    return [one.text for one in check(scenario, plan) if one.rule == "complete" and "a place" in one.text]


def test_the_shortest_shift_that_holds_a_job() -> None:
    # changeover 4 + 3 + 7, preheat 21 + 10, start 5, print 60, cooldown 32, unload 6: 148 in all
    plan = a_plan(unplaced=(left_out("J1"),))
    (text,) = places_told(a_scenario(shifts=[a_shift(0, 148)]), plan)
    assert "printer P1 with spool s1, Mon 3 Mar 06:00 to Mon 3 Mar 08:28" in text
    assert places_told(a_scenario(shifts=[a_shift(0, 147)]), plan) == []


def test_a_wet_spool_needs_a_run_first() -> None:
    # warm-up 10 + 60 drying, then the same 148: 218
    wet = a_material(drying=(a_drying_row(80.0, 1.0),), open_time_min=200)
    shop = a_scenario(materials=[wet], dryers=[a_dryer()], shifts=[a_shift(0, 218)])
    plan = a_plan(unplaced=(left_out("J1"),))
    (text,) = places_told(shop, plan)
    assert "dryer D1 Mon 3 Mar 06:00 to Mon 3 Mar 07:10" in text
    assert places_told(replace(shop, shifts=(a_shift(0, 217),)), plan) == []
    # a hot dryer that the spool's body does not stand is none
    assert places_told(replace(shop, spools=(a_spool(body_max_c=79.0),)), plan) == []


def test_a_place_beside_another_job() -> None:
    # J1 has the printer from 0 to 148; its spool, nozzle and material stay: changeover 4. The chamber is at
    # 20 + 50 · e^(−32/45) = 44.55 at 142, and at 152, 10 min on, at 20 + 24.55 · e^(−10/45) = 39.66:
    # 30 · ln(80.34/50) = 14.23, so 15, + 10 = 25. J2: 4 + 25 + 5 + 60 + 32 + 6 = 132, to 280
    plan = a_plan(
        jobs=(a_planned_job("J1", 0, 14, 45, 50, 110, 142, 148, done=at(148)),), unplaced=(left_out("J2"),)
    )
    shop = a_scenario(jobs=[a_job("J1"), a_job("J2")], shifts=[a_shift(0, 280)])
    (text,) = places_told(shop, plan)
    assert "Mon 3 Mar 08:28 to Mon 3 Mar 10:40" in text
    assert places_told(replace(shop, shifts=(a_shift(0, 279),)), plan) == []


def test_a_pin_that_can_be_kept() -> None:
    # print start 50 is the earliest: 14 + 31 + 5
    plan = a_plan(unplaced=(left_out("J1", "pinned"),))
    (text,) = places_told(a_scenario(jobs=[a_job(pinned=a_pin("P1", 50))]), plan)
    assert "unplaced for its pin" in text
    assert places_told(a_scenario(jobs=[a_job(pinned=a_pin("P1", 49))]), plan) == []


def test_a_pin_weighs_more_than_jobs_without() -> None:
    plan = a_plan(
        jobs=(a_planned_job("J1", 0, 14, 45, 50, 110, 142, 148, done=at(148)),),
        unplaced=(left_out("J2", "pinned"),),
    )
    shop = a_scenario(jobs=[a_job("J1"), a_job("J2", pinned=a_pin("P1", 100))])
    (text,) = places_told(shop, plan)
    assert "beside begun work and the pinned jobs of lower id" in text
    both = a_scenario(jobs=[a_job("J1", pinned=a_pin("P1", 50)), a_job("J2", pinned=a_pin("P1", 100))])
    assert places_told(both, plan) == []


@pytest.mark.parametrize(("job", "why"), [("B", "horizon"), ("K", "horizon"), ("E", "pinned")])
def test_worked_example_has_room_for_what_it_places(job: str, why: str) -> None:
    scenario, _ = read_scenario_file(WORKED_EXAMPLE / "scenario.json")
    made = read_plan_file(WORKED_EXAMPLE / "plan.json", scenario)
    assert places_told(scenario, made) == []
    without = replace(
        made,
        jobs=tuple(one for one in made.jobs if one.job != job),
        unplaced=(*made.unplaced, left_out(job, why)),
    )
    (text,) = places_told(scenario, without)
    assert "it has a place" in text


def without_job(plan: Plan, job: str) -> Plan:
    """The plan without one job and without the runs that it had to itself."""
    gone = next(one for one in plan.jobs if one.job == job)
    used = {choice.spool for one in plan.jobs if one is not gone for choice in one.feeds}
    spools = {choice.spool for choice in gone.feeds}
    return replace(
        plan,
        jobs=tuple(one for one in plan.jobs if one is not gone),
        dryer_runs=tuple(
            run for run in plan.dryer_runs if set(run.spools) - spools or used & set(run.spools)
        ),
        oven_runs=tuple(run for run in plan.oven_runs if run.jobs != (job,)),
    )


def test_a_place_found_is_one_and_few_are_overlooked() -> None:
    asked = seen = 0
    for seed in range(1, 61):
        scenario, plan = planned(seed)
        matcher = Matcher(scenario)

        def judge(view: View, matcher: Matcher = matcher) -> list:
            return excuse(view, list(rule_breaches(view, matcher)))

        for job in scenario.jobs:
            if job.progress is not None or all(one.job != job.id for one in plan.jobs) or plan.forced:
                continue
            rest = without_job(plan, job.id)
            view, _ = read(scenario, rest)
            if judge(view):
                continue
            asked += 1
            place = find_place(Room(view, matcher), job, judge)
            if place is not None:
                seen += 1
                rules = {one.rule for one in found(scenario, with_place(rest, place))}
                assert rules <= {"done", "cost"}, (seed, job.id, rules)
    assert asked > 50
    assert seen >= 0.95 * asked, (seen, asked)
