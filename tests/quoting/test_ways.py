"""Ways of a request: each is a plan that passes the checker."""

from __future__ import annotations

import pytest

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.insert import promises
from scheduler.quoting.price import PriceSheet
from scheduler.quoting.variation import NONE, Variation
from scheduler.quoting.ways import CHANCES, DOTS, Way, answer
from tests.requests import random_request


@pytest.fixture(scope="module")
def planned() -> tuple[Scenario, Plan]:
    compiled_kernels()
    scenario = generate("S", 2)
    plan = make_plan(
        scenario,
        scenario_hash=scenario_hash(scenario),
        made_at=scenario.site.plan_start,
        rounds=3000,
        chains=1,
    )
    return scenario, plan


def must_hold(scenario: Scenario, plan: Plan, way: Way) -> None:
    shop = way.insertion.scenario
    hashed = scenario_hash(shop)
    assert check(shop, way.insertion.plan(hashed, shop.site.plan_start), hashed) == ()
    done = {job.job: job.done for job in way.plan.jobs}
    for job, by in promises(scenario, plan).items():
        assert done[job] <= by
    assert way.planned_for == max(job.done for job in way.jobs)
    assert way.planned_for <= way.by[0] <= way.by[1] <= way.by[2]
    assert len(way.dots) == DOTS and list(way.dots) == sorted(way.dots)
    assert sum(dot <= way.promise(0.8) for dot in way.dots) >= 0.8 * DOTS - 1
    assert way.bottleneck().endswith(".") and way.chain()


def test_every_way_keeps_every_rule_and_each_kind_is_found(planned: tuple[Scenario, Plan]) -> None:
    scenario, plan = planned
    seen: dict[str, int] = {}
    takes = set()
    for seed in range(14):
        jobs, spools = random_request(scenario, seed)
        found = answer(
            scenario, plan, jobs, spools, PriceSheet(minimum_cents=0), Variation(), replications=60
        )
        for way in found.ways:
            must_hold(scenario, plan, way)
            seen[way.name] = seen.get(way.name, 0) + 1
        if found.ways:
            first = found.ways[0]
            sooner, later = found.way("sooner"), found.way("later")
            if sooner is not None:
                assert sooner.planned_for < first.planned_for
                takes.add(bool(sooner.shifts))
            if later is not None:
                assert later.planned_for > first.planned_for and later.price.cents < first.price.cents
        else:
            assert found.unplaced is not None and not found.unplaced.whole
    assert seen["as planned"] >= 8 and seen.get("sooner", 0) >= 2 and seen.get("later", 0) >= 2
    assert takes


def test_without_chance_every_date_is_the_planned_one(planned: tuple[Scenario, Plan]) -> None:
    scenario, plan = planned
    jobs, spools = random_request(scenario, 1)
    found = answer(scenario, plan, jobs, spools, PriceSheet(), NONE, replications=5, only="as planned")
    way = found.ways[0]
    assert set(way.by) == set(way.dots) == {way.planned_for} and len(found.ways) == 1
    assert [way.promise(chance) for chance in CHANCES] == list(way.by)
