"""Ways of a request: each is a plan that passes the checker."""

from __future__ import annotations

from datetime import timedelta

import pytest

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning import tighten as tighten_module
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.insert import promises
from scheduler.quoting.price import PriceSheet
from scheduler.quoting.variation import NONE, Variation
from scheduler.quoting.ways import CHANCES, DOTS, Way, answer
from tests.builders import a_job, a_printer, a_scenario, a_shift, a_spool, at
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


def plan_of(scenario: Scenario) -> Plan:
    hashed = scenario_hash(scenario)
    return make_plan(
        scenario,
        scenario_hash=hashed,
        made_at=scenario.site.plan_start,
        timer=lambda: 0.0,
        rounds=0,
        chains=1,
    )


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


def test_every_way_keeps_every_rule(planned: tuple[Scenario, Plan]) -> None:
    scenario, plan = planned
    seen: dict[str, int] = {}
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
            if later is not None:
                assert later.planned_for > first.planned_for and later.price.cents < first.price.cents
        else:
            assert found.unplaced is not None and not found.unplaced.whole
    assert seen["as planned"] >= 8 and seen.get("later", 0) >= 2


def test_without_chance_every_date_is_the_planned_one(planned: tuple[Scenario, Plan]) -> None:
    scenario, plan = planned
    jobs, spools = random_request(scenario, 1)
    found = answer(scenario, plan, jobs, spools, PriceSheet(), NONE, replications=5, only="as planned")
    way = found.ways[0]
    assert set(way.by) == set(way.dots) == {way.planned_for} and len(found.ways) == 1
    assert [way.promise(chance) for chance in CHANCES] == list(way.by)


def test_a_job_with_slack_makes_room_at_the_price_of_a_rush(monkeypatch: pytest.MonkeyPatch) -> None:
    # In a large shop the plan is not searched for a better place, so making room is a way of its own.
    monkeypatch.setattr(tighten_module, "SMALL", 0)
    scenario = a_scenario(
        shifts=(a_shift(0, 6 * 24 * 60),),
        spools=tuple(a_spool(f"s{n}", grams=4000.0, dried=True) for n in range(3)),
        jobs=(a_job("J1", print_min=900, release=at(120), due=at(5 * 24 * 60)),),
    )
    plan = plan_of(scenario)
    asked = a_job("Q-1", order="Q-1", print_min=100)
    found = answer(scenario, plan, [asked], (), PriceSheet(minimum_cents=0), NONE, replications=3)
    sooner = found.way("sooner")
    assert sooner is not None and sooner.made_room == ("J1",) and "J1 makes room" in sooner.takes[0]
    must_hold(scenario, plan, sooner)
    assert sooner.planned_for < found.ways[0].planned_for - timedelta(hours=10)
    assert sooner.price.lines[-1].what == "rush, × 1.25"


def test_a_call_out_takes_a_part_off_in_the_night() -> None:
    day = 24 * 60
    scenario = a_scenario(
        shifts=tuple(a_shift(n * day, n * day + 480) for n in range(5)),
        printers=(a_printer("P1", unattended=True),),
        spools=(a_spool("s1", grams=4000.0, dried=True),),
        jobs=(),
    )
    plan = plan_of(scenario)
    asked = a_job("Q-1", order="Q-1", print_min=700)
    found = answer(scenario, plan, [asked], (), PriceSheet(minimum_cents=0), NONE, replications=3)
    sooner = found.way("sooner")
    assert sooner is not None and len(sooner.shifts) == 1 and "overtime" in sooner.takes[0]
    must_hold(scenario, plan, sooner)
    assert sooner.price.lines[-1].what == "overtime, 60 min"


def test_in_a_small_shop_the_planned_way_moves_others_within_their_promise() -> None:
    compiled_kernels()
    scenario = a_scenario(
        shifts=(a_shift(0, 6 * 24 * 60),),
        spools=tuple(a_spool(f"s{n}", grams=4000.0, dried=True) for n in range(3)),
        jobs=(a_job("J1", print_min=900, release=at(120), due=at(5 * 24 * 60)),),
    )
    plan = plan_of(scenario)
    asked = a_job("Q-1", order="Q-1", print_min=100)
    found = answer(scenario, plan, [asked], (), PriceSheet(minimum_cents=0), NONE, replications=3)
    way = found.ways[0]
    must_hold(scenario, plan, way)
    assert way.planned_for < plan.jobs[0].done and way.takes == (
        "1 other job moves by more than half an hour for it, not beyond its promise.",
    )


def test_a_date_is_read_where_past_promises_say(planned: tuple[Scenario, Plan]) -> None:
    scenario, plan = planned
    jobs, spools = random_request(scenario, 3)

    def by(**changes: object) -> tuple[object, ...]:
        luck = Variation(**changes)  # type: ignore[arg-type]  # any of its figures
        return answer(scenario, plan, jobs, spools, PriceSheet(), luck, only="as planned").ways[0].by

    plain, later = by(), by(levels={0.8: 0.95})
    assert later == (plain[0], plain[2], plain[2]) and plain[1] < plain[2]
