"""The rule of dryness asked alone says what the whole judgement says of it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from demo_fleet import generate
from scheduler.checking import check, open_too_long
from scheduler.model.codec import scenario_hash
from scheduler.physics.derive import Surroundings, derive
from scheduler.planning import make_plan


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_one_rule_alone_finds_what_the_judge_finds(seed: int) -> None:
    scenario = generate("S", seed)
    plan = make_plan(scenario, scenario_hash=scenario_hash(scenario), made_at=scenario.site.plan_start)
    assert open_too_long(scenario, plan) == frozenset()
    found = set()
    for humidity in (40.0, 60.0, 80.0):
        wetter = derive(scenario, Surroundings(humidity)).scenario
        # Open times that are cut further, so that every shop has something to find.
        shorter = tuple(
            replace(each, open_time_min=each.open_time_min // 3) if each.open_time_min else each
            for each in wetter.materials
        )
        for other in (wetter, replace(wetter, materials=shorter)):
            judged = [breach for breach in check(other, plan) if breach.rule == "dryness"]
            assert open_too_long(other, plan) == {job for breach in judged for job in breach.jobs}
            found |= open_too_long(other, plan)
    assert found
