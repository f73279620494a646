"""New jobs in a plan that stands: never to the harm of what is promised."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash, scenario_offences
from scheduler.planning import make_plan
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.insert import Insertion, insert, promises
from tests.builders import a_job, a_printer, a_scenario, a_spool, at
from tests.planning.random_shops import random_shop
from tests.requests import random_request


def plan_of(scenario: Scenario, rounds: int | None = None) -> Plan:
    return make_plan(
        scenario,
        scenario_hash=scenario_hash(scenario),
        made_at=scenario.site.plan_start,
        timer=lambda: 0.0,
        rounds=rounds,
        chains=1,
    )


def must_be_sound(plan: Plan, found: Insertion) -> None:
    """The checker passes; every job of the plan keeps its first layer and its end."""
    assert scenario_offences(found.scenario) == ()
    hashed = scenario_hash(found.scenario)
    after = found.plan(hashed, found.scenario.site.plan_start)
    assert check(found.scenario, after, hashed) == ()
    assert found.harmed == ()
    now = {job.job: job for job in after.jobs}
    for job in plan.jobs:
        assert (now[job.job].printer, now[job.job].steps[2:4], now[job.job].done) == (
            job.printer,
            job.steps[2:4],
            job.done,
        )
    for id, done in found.done.items():
        assert now[id].done == done


@pytest.mark.parametrize("seed", range(300))
def test_a_request_never_harms_a_promise(seed: int) -> None:
    scenario = random_shop(seed, able=seed % 3 == 0)
    jobs, spools = random_request(scenario, seed)
    plan = plan_of(scenario)
    must_be_sound(plan, insert(scenario, plan, jobs, spools=spools))


def test_most_requests_find_a_place_among_the_compiled_kernels() -> None:
    compiled_kernels()
    scenario = generate("S", 3)
    plan = plan_of(scenario, rounds=2000)
    whole = 0
    for seed in range(30):
        jobs, spools = random_request(scenario, seed)
        found = insert(scenario, plan, jobs, spools=spools)
        must_be_sound(plan, found)
        whole += found.whole
    assert whole >= 20


def test_a_free_printer_takes_the_job_at_once_and_a_delivery_is_waited_for() -> None:
    scenario = a_scenario(jobs=(a_job("J1", print_min=600),), spools=(a_spool("s1", dried=True),))
    plan = plan_of(scenario)
    bought = a_spool("s2", dried=True, available_from=scenario.site.plan_start + timedelta(days=2))
    asked = replace(scenario.jobs[0], id="Q1", order="Q", feeds=(replace(scenario.jobs[0].feeds[0]),))
    at_once = insert(scenario, plan, [asked])
    must_be_sound(plan, at_once)
    short = replace(asked, feeds=(replace(asked.feeds[0], grams=5000.0),))
    nothing = insert(scenario, plan, [short])
    assert not nothing.whole and nothing.done == {}
    with pytest.raises(ValueError, match="no place"):
        _ = nothing.date
    later = insert(scenario, plan, [short], spools=[replace(bought, grams=6000.0)])
    must_be_sound(plan, later)
    assert later.date > scenario.site.plan_start + timedelta(days=2) > at_once.date - timedelta(days=1)


def test_a_job_of_the_shop_cannot_be_asked_for_again() -> None:
    scenario = a_scenario()
    plan = plan_of(scenario)
    with pytest.raises(ValueError, match="in the shop already"):
        insert(scenario, plan, [scenario.jobs[0]])
    with pytest.raises(ValueError, match="no job"):
        insert(scenario, plan, [])


def test_a_promise_is_the_due_date_or_the_plan_where_that_is_later() -> None:
    scenario = random_shop(5)
    plan = plan_of(scenario)
    due = {job.id: job.due for job in scenario.jobs}
    for job in plan.jobs:
        if due[job.job] is None:
            assert job.job not in promises(scenario, plan)
        else:
            assert promises(scenario, plan)[job.job] >= max(job.done, due[job.job])


def test_a_promise_that_the_shop_has_lost_anyway_keeps_no_new_work_out() -> None:
    """A print takes longer than planned: it and the job behind it are late, others need not be."""
    shop = a_scenario(
        printers=(a_printer("P1", unattended=True), a_printer("P2", unattended=True)),
        spools=tuple(a_spool(f"s{n}", grams=4000.0, dried=True) for n in range(4)),
        jobs=(a_job("J1", print_min=300), a_job("J2", print_min=300), a_job("J3", print_min=300)),
    )
    plan = plan_of(shop)
    done = {job.job: job.done for job in plan.jobs}
    longer = replace(
        shop,
        jobs=tuple(
            replace(job, due=done[job.id], print_min=420 if job.id == "J1" else job.print_min)
            for job in shop.jobs
        ),
    )
    new = a_job("N", print_min=60)
    found = insert(longer, plan, [new])
    assert found.whole and found.harmed == ()
    assert found.promised["J1"] > done["J1"]
    assert found.promised["J2"] >= done["J2"]
    hashed = scenario_hash(found.scenario)
    after = found.plan(hashed, longer.site.plan_start)
    assert all(job.done <= found.promised[job.job] for job in after.jobs if job.job != "N")
    assert check(found.scenario, after, hashed) == ()


def test_a_job_that_is_promised_with_a_chance_keeps_what_lies_between_plan_and_promise() -> None:
    shop = a_scenario(jobs=(a_job("J1", print_min=300, due=at(5000)), a_job("J2", print_min=300, due=at(10))))
    plan = plan_of(shop)
    done = {job.job: job.done for job in plan.jobs}
    assert promises(shop, plan)["J1"] == at(5000)
    limits = {"J1": done["J1"] + timedelta(minutes=20), "J2": at(0)}
    assert promises(shop, plan, limits) == {"J1": limits["J1"], "J2": done["J2"]}
    # A limit after the due date gives no more time than that.
    assert promises(shop, plan, {"J1": at(9000)})["J1"] == at(5000)
    new = a_job("N", print_min=60)
    late = insert(shop, plan, [new], aside=["J1"], limits={"J1": done["J1"]})
    free = insert(shop, plan, [new], aside=["J1"])
    assert free.whole and free.date < late.date if late.whole else late.harmed == ("J1",)
