"""The checker and its plain twin agree on random plans, valid and damaged."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta

import pytest

from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from tests.checking.naive import broken
from tests.planning.random_shops import random_shop

#: Rules that both know.
SHARED = {"hands", "unattended", "downtime", "printer", "spools", "dryness", "cost"}


def planned(seed: int) -> tuple[Scenario, Plan]:
    scenario = random_shop(seed)
    plan = make_plan(
        scenario,
        scenario_hash=scenario_hash(scenario),
        made_at=scenario.site.plan_start,
        timer=lambda: 0.0,
    )
    return scenario, plan


@pytest.mark.parametrize("first", range(1, 121, 30))
def test_both_find_valid_plans_valid(first: int) -> None:
    for seed in range(first, first + 30):
        scenario, plan = planned(seed)
        if not plan.forced:
            assert broken(scenario, plan) == set(), seed


@pytest.mark.parametrize("first", range(1, 161, 40))
def test_both_find_the_same_rules_broken(first: int) -> None:
    found = 0
    for seed in range(first, first + 40):
        scenario, plan = planned(seed)
        free = {job.id for job in scenario.jobs if job.progress is None}
        movable = [one for one in plan.jobs if one.job in free]
        if not movable or plan.forced:
            continue
        dice = random.Random(seed)
        one = dice.choice(movable)
        by = timedelta(minutes=dice.choice([-240, -30, -3, 3, 30, 240, 900]))
        start = min(step.start for step in one.steps) + by
        if start < scenario.site.plan_start:
            continue
        moved = replace(
            one,
            done=one.done + by,
            steps=tuple(replace(step, start=step.start + by, end=step.end + by) for step in one.steps),
        )
        damaged = replace(plan, jobs=tuple(moved if each is one else each for each in plan.jobs))
        theirs = {breach.rule for breach in check(scenario, damaged)} & SHARED
        ours = broken(scenario, damaged)
        if damaged.unplaced:
            theirs -= {"cost"}
        assert theirs - {"cost"} == ours - {"cost"}, (seed, one.job, by)
        found += bool(ours)
    assert found > 3
