"""The checker and its plain twin agree on random plans, valid and damaged: which rules, and who."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from tests.checking.damage import Damage
from tests.checking.twin import disagreements, found
from tests.planning.random_shops import random_shop

#: Every rule that damage must have broken at least once, so that the agreement is about something.
RULES = {
    "steps",
    "changeover",
    "preheat",
    "setpoint",
    "print",
    "cooldown",
    "printer",
    "hands",
    "unattended",
    "not before",
    "downtime",
    "dryers",
    "spools",
    "dryness",
    "lots",
    "ovens",
    "pinned",
    "under way",
    "complete",
    "forced",
    "match",
    "cost",
    "done",
}


def planned(seed: int, able: bool = False) -> tuple[Scenario, Plan]:
    """A random shop and its plan, the same on every machine."""
    scenario = random_shop(seed, able)
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
        scenario, plan = planned(seed, able=seed % 4 == 0)
        assert check(scenario, plan) == (), seed
        assert found(scenario, plan) == [], seed


def test_both_find_the_same_rules_broken_by_the_same() -> None:
    broken: Counter[str] = Counter()
    for seed in range(1, 121):
        scenario, plan = planned(seed, able=seed % 4 == 0)
        for turn in range(4):
            damaged = Damage(random.Random(1000 * seed + turn), scenario, plan).spoil()
            breaches = check(scenario, damaged)
            broken.update({breach.rule for breach in breaches})
            apart = disagreements(breaches, found(scenario, damaged))
            assert not apart, (seed, turn, apart)
    assert set(broken) >= RULES, RULES - set(broken)
