"""Plans are valid, the same for the same input, and better than plain dispatch."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from demo_fleet import demo_shop, generate
from scheduler.checking import check, costs
from scheduler.model import Pin, Plan, Scenario, Span
from scheduler.model.codec import read_plan_file, read_scenario_file, scenario_hash
from scheduler.planning import make_plan
from tests.bench.dispatch import earliest_due
from tests.builders import (
    PLAN_START,
    WORKED_EXAMPLE,
    a_downtime,
    a_job,
    a_material,
    a_printer,
    a_scenario,
    a_shift,
    a_site,
    at,
)
from tests.planning.fuzz import judge
from tests.planning.random_shops import random_shop

ROUNDS = 400


def plan_of(scenario: Scenario, rounds: int | None = None, **options: object) -> Plan:
    """A plan that no clock has a say in."""
    return make_plan(
        scenario,
        scenario_hash=scenario_hash(scenario),
        made_at=scenario.site.plan_start,
        timer=lambda: 0.0,
        rounds=rounds,
        **options,  # type: ignore[arg-type]  # any of make_plan's own
    )


@pytest.mark.parametrize("first", range(1, 401, 50))
def test_random_shops_get_valid_plans(first: int) -> None:
    for seed in range(first, first + 50):
        _, lines = judge(seed, rounds=0)
        assert lines == []


@pytest.mark.parametrize("first", range(5001, 5201, 50))
def test_search_keeps_random_shops_valid(first: int) -> None:
    for seed in range(first, first + 50):
        _, lines = judge(seed, rounds=40)
        assert lines == []


@pytest.mark.parametrize("first", range(1, 121, 40))
def test_search_keeps_random_full_shops_valid(first: int) -> None:
    placed = 0
    for seed in range(first, first + 40):
        figures, lines = judge(seed, rounds=60, able=True)
        placed += figures["placed"]
        assert lines == []
    assert placed > 300


def test_a_job_may_begin_later_for_the_sake_of_who_has_its_spool_next() -> None:
    """As soon as it could, it would stay on its machine over night and keep the spool open for too long."""
    _, lines = judge(1004161, rounds=0)
    assert lines == []


def test_the_feed_that_keeps_longer_is_dried_first_where_one_dryer_serves_both() -> None:
    """The first feed's run was put off again and again, and pushed the second's before it."""
    _, lines = judge(4015838, rounds=0)
    assert lines == []


def test_a_part_said_to_be_in_its_oven_before_it_is_off_is_done_with_its_anneal() -> None:
    _, lines = judge(6023472, rounds=0)
    assert lines == []


@pytest.mark.parametrize("seed", [2012505, 2015806])
def test_a_spool_is_dried_again_where_beginning_later_does_not_help(seed: int) -> None:
    """Its open time would do for the least preheat, but not for the one that the chamber needs."""
    _, lines = judge(seed, rounds=0)
    assert lines == []


def test_nothing_is_set_up_on_a_machine_that_was_down_before_the_plan_began() -> None:
    """Its only hands leave while it is down; the print itself could begin with nobody there."""
    down = (a_downtime(-60, 170, "new belt"),)
    shop = a_scenario(
        site=a_site(start_min=0, plate_min=20),
        shifts=(a_shift(0, 180, 1), a_shift(1440, 1920, 1)),
        printers=(a_printer(downtime=down),),
        jobs=(a_job("J1", pinned=Pin(a_printer().id, at(600))),),
    )
    plan = plan_of(shop)
    assert check(shop, plan, scenario_hash(shop)) == ()
    assert [one.job for one in plan.unplaced] == ["J1"]
    up = replace(shop, printers=(a_printer(downtime=(a_downtime(-60, 150, "new belt"),)),))
    (held,) = plan_of(up).jobs
    assert held.steps[0].start >= at(150) and held.steps[3].start == at(600)


def test_worked_example_is_planned_at_least_as_well() -> None:
    scenario, hashed = read_scenario_file(WORKED_EXAMPLE / "scenario.json")
    sample = read_plan_file(WORKED_EXAMPLE / "plan.json", scenario)
    plan = plan_of(scenario, ROUNDS)
    assert check(scenario, replace(plan, scenario_hash=hashed), hashed) == ()
    assert plan.late_cost <= sample.late_cost
    assert plan.lower_bound is not None and plan.lower_bound <= plan.late_cost


@pytest.mark.parametrize(("size", "seed"), [("S", 1), ("S", 2), ("S", 3), ("M", 1)])
def test_made_up_shops_beat_plain_dispatch(size: str, seed: int) -> None:
    scenario = generate(size, seed)
    hashed = scenario_hash(scenario)
    ours = plan_of(scenario, ROUNDS)
    plain = earliest_due(scenario, hashed, scenario.site.plan_start)
    assert check(scenario, ours, hashed) == ()
    assert check(scenario, plain, hashed) == ()
    assert ours.late_cost <= 0.8 * plain.late_cost


def test_demo_shop_is_valid_and_beats_plain_dispatch() -> None:
    scenario = demo_shop(date(2031, 3, 3))
    hashed = scenario_hash(scenario)
    ours = plan_of(scenario, ROUNDS)
    assert check(scenario, ours, hashed) == ()
    assert ours.late_cost <= 0.8 * earliest_due(scenario, hashed, scenario.site.plan_start).late_cost


def test_the_same_input_gives_the_same_plan_and_seeds_differ() -> None:
    scenario = generate("S", 4)
    once = plan_of(scenario, ROUNDS, seed=3, chains=2)
    assert plan_of(scenario, ROUNDS, seed=3, chains=2) == once
    assert plan_of(scenario, ROUNDS, seed=4, chains=2).jobs != once.jobs


def test_a_stop_still_gives_a_valid_plan() -> None:
    scenario = generate("S", 5)
    plan = make_plan(
        scenario,
        scenario_hash=scenario_hash(scenario),
        made_at=scenario.site.plan_start,
        seconds=3600,
        stop=lambda: True,
    )
    assert check(scenario, plan, scenario_hash(scenario)) == ()


def test_progress_counts_jobs_and_late_hours() -> None:
    told = []
    scenario = generate("S", 1)
    plan_of(scenario, ROUNDS, on_progress=told.append)
    assert told[0].jobs == len(scenario.jobs)
    assert all(progress.placed <= progress.jobs for progress in told)


def test_a_pinned_job_stands_where_it_is_pinned() -> None:
    scenario = generate("S", 6)
    first = plan_of(scenario)
    free = {job.id for job in scenario.jobs if job.pinned is None and job.progress is None}
    planned = next(job for job in first.jobs if job.job in free)
    pin = Pin(planned.printer, planned.steps[3].start)
    pinned = replace(
        scenario,
        jobs=tuple(replace(job, pinned=pin) if job.id == planned.job else job for job in scenario.jobs),
    )
    again = plan_of(pinned, ROUNDS)
    assert check(pinned, again, scenario_hash(pinned)) == ()
    there = {job.job: job for job in again.jobs}[planned.job]
    assert (there.printer, there.steps[3].start) == (pin.printer, pin.print_start)


def test_what_is_about_to_begin_stays_when_a_plan_is_replaced() -> None:
    scenario = generate("M", 2)
    published = plan_of(scenario)
    later = replace(scenario, site=replace(scenario.site, freeze_min=600))
    again = plan_of(later, ROUNDS, previous=published)
    assert check(later, again, scenario_hash(later)) == ()
    until = scenario.site.plan_start + timedelta(minutes=600)
    before = {job.job: job for job in published.jobs}
    soon = {job for job, one in before.items() if scenario.site.plan_start <= one.steps[0].start < until}
    kept = {job.job for job in again.jobs if job.steps == before.get(job.job, job).steps}
    assert soon and soon <= kept


@pytest.mark.parametrize(("aimed", "first"), [("J1", "J1"), ("J2", "J2")])
def test_a_date_that_is_aimed_at_comes_before_the_due_date(aimed: str, first: str) -> None:
    due = at(900)
    shop = a_scenario(jobs=[a_job(id, due=due, print_min=200) for id in ("J1", "J2")])
    plan = plan_of(shop, ROUNDS, aims={aimed: at(400)})
    assert check(shop, plan, scenario_hash(shop)) == ()
    assert min(plan.jobs, key=lambda job: job.done).job == first
    # Missing an aim is no lateness, and no plan is told to be less late than it can be.
    assert plan.late_cost == costs(shop, plan).late_cost == 0 and plan.lower_bound == 0
    hopeless = plan_of(shop, ROUNDS, aims={"J1": at(-60), "J2": at(5)})
    assert hopeless.late_cost == 0 and len(hopeless.jobs) == 2


def test_figures_of_a_plan_are_those_of_the_checker() -> None:
    scenario = generate("S", 7)
    plan = plan_of(scenario, ROUNDS)
    found = costs(scenario, plan)
    assert plan.late_cost == pytest.approx(found.late_cost, abs=0.005)
    assert (plan.attended_min, plan.preheat_min) == (found.attended_min, found.preheat_min)


def test_a_start_that_takes_no_hands_skips_the_night_at_one_go() -> None:
    """A machine that must not run alone, no minutes for changeover and start, and a long night."""
    scenario = a_scenario(
        site=a_site(plate_min=0, spool_swap_min=0, nozzle_swap_min=0, start_min=0),
        shifts=[a_shift(0, 10), a_shift(1062, 1500)],
        materials=[a_material(soak_min=0, chamber_c=Span(20.0, 80.0), chamber_set_c=20.0)],
        printers=[a_printer(unattended=False, bed_heat_min=1)],
        jobs=[a_job(release=at(200))],
    )
    plan = make_plan(scenario, scenario_hash=scenario_hash(scenario), made_at=PLAN_START)
    assert [planned.job for planned in plan.jobs] == ["J1"]
    assert check(scenario, plan, scenario_hash(scenario)) == ()


@pytest.mark.parametrize(("seed", "one", "two"), [(508, "j00", "j01"), (326, "j01", "j02")])
def test_begun_jobs_that_ask_too_much_of_one_spool_have_it_named(seed: int, one: str, two: str) -> None:
    """As where somebody takes a spool from a machine that is cooling and starts the next job with it."""
    shop = random_shop(seed)
    begun = {job.id: job for job in shop.jobs}
    first, second = begun[one].progress, begun[two].progress
    assert first is not None and second is not None
    choice = replace(second.feeds[0], spool=first.feeds[0].spool)
    begun[two] = replace(begun[two], progress=replace(second, feeds=(choice,)))
    shop = replace(shop, jobs=tuple(begun.values()))
    plan = plan_of(shop)
    assert not check(shop, plan, scenario_hash(shop))
    assert {forced.rule for forced in plan.forced} == {"spools"}
    assert any("of them drawn before" in forced.text for forced in plan.forced)
