"""A machine that dies, a person less, a rush job: what they do to a plan."""

from __future__ import annotations

import contextlib
import random

import pytest

from scheduler.checking import check
from scheduler.model import Scenario
from scheduler.model.codec import scenario_hash, scenario_offences
from scheduler.planning import make_plan
from scheduler.planning.advance import advance
from scheduler.planning.situations import (
    NoSuchThing,
    machine_down,
    outcome,
    person_less,
    rush_job,
)
from tests.builders import a_job, a_printer, a_progress, a_scenario, a_shift, a_spool, at
from tests.planning.random_shops import random_shop


def shop(**changes: object) -> Scenario:
    parts: dict[str, object] = {
        "printers": [a_printer("P1"), a_printer("P2", speed_factor=2.0)],
        "spools": [a_spool("s1"), a_spool("s2"), a_spool("s3")],
        "jobs": [a_job("A", print_min=300, due=at(500)), a_job("B", print_min=300, due=at(900))],
    }
    return a_scenario(**(parts | changes))


def planned(scenario: Scenario):
    return make_plan(
        scenario, scenario_hash=scenario_hash(scenario), made_at=scenario.site.plan_start, rounds=50, chains=1
    )


def test_a_dead_machine_moves_its_jobs_and_says_so() -> None:
    scenario = shop()
    plan = planned(scenario)
    hit = next(one.printer for one in plan.jobs if one.job == "A")
    found = outcome(scenario, plan, machine_down(scenario, hit, 48), rounds=50)
    moved = next(move for move in found.found.moves if move.job == "A")
    assert moved.cause.kind == "machine" and moved.cause.thing == hit
    assert found.late_h_after >= found.late_h_before
    assert found.late_h_today == pytest.approx(plan.late_cost)


def test_what_prints_on_a_dead_machine_is_printed_again_and_its_filament_is_gone() -> None:
    begun = a_progress(-100, -96, -40, -35, 265)
    scenario = shop(jobs=[a_job("A", print_min=300, progress=begun), a_job("B", print_min=300)])
    down = machine_down(scenario, "P1", 10)
    job = next(one for one in down.jobs if one.id == "A")
    assert job.progress is None
    # 35 of 300 minutes are printed, of 50 g.
    assert down.spools[0].grams == pytest.approx(1000 - 50 * 35 / 300)
    cooling = a_progress(-400, -396, -340, -335, -35, 40)
    scenario = shop(jobs=[a_job("A", print_min=300, progress=cooling)])
    assert machine_down(scenario, "P1", 10).jobs[0].progress == cooling


def test_a_person_less_from_now_on() -> None:
    scenario = shop(shifts=[a_shift(-60, 480, 2), a_shift(480, 960, 1), a_shift(1440, 4000, 1)])
    less = person_less(scenario, 0)
    assert {(one.start, one.end, one.hands) for one in less.shifts} == {
        (at(480), at(960), 1),
        (at(1440), at(4000), 1),
        (at(-60), at(0), 2),
        (at(0), at(480), 1),
    }
    assert len(person_less(scenario, 1).shifts) == 2


def test_a_rush_job_is_placed_and_its_late_hours_count() -> None:
    scenario = shop()
    changed, id = rush_job(scenario, "A", 1.0, 10.0)
    assert id == "A-rush"
    found = outcome(scenario, planned(scenario), changed, rounds=50)
    rush = next(move for move in found.found.moves if move.job == id)
    assert rush.was is None and rush.now is not None and rush.cause.kind == "new"
    assert found.late_h_after > found.late_h_before
    assert id in found.newly_late


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda s: machine_down(s, "P9", 4), "no printer P9"),
        (lambda s: machine_down(s, "P1", 0), "not 0"),
        (lambda s: machine_down(s, "P1", 1e9), "up to 1440 hours"),
        (lambda s: person_less(s, 7), "no shift 7"),
        (lambda s: person_less(s, 0), "nobody would be left"),
        (lambda s: rush_job(s, "Z", 4, 1), "no job Z"),
        (lambda s: rush_job(s, "A", -1, 1), "not -1"),
        (lambda s: rush_job(s, "A", 4, 0), "not 0"),
    ],
)
def test_what_makes_no_sense_is_refused_with_its_figure(ask, words: str) -> None:
    with pytest.raises(NoSuchThing, match=words):
        ask(shop(shifts=[a_shift(0, 480, 1)]))


@pytest.mark.parametrize("seed", range(15))
def test_random_situations_are_shops_that_a_file_can_tell_and_plans_that_hold(seed: int) -> None:
    begun, rng = random_shop(seed), random.Random(seed)
    plan = planned(begun)
    scenario = advance(begun, plan, begun.site.instant(rng.randrange(30, 600)))
    if not scenario.jobs or scenario_offences(scenario):
        return
    asked = [machine_down(scenario, rng.choice(scenario.printers).id, rng.randrange(1, 60))]
    asked.append(rush_job(scenario, rng.choice(scenario.jobs).id, 24, 3.0)[0])
    # A shift may be over, or the only one.
    with contextlib.suppress(NoSuchThing):
        asked.append(person_less(scenario, rng.randrange(len(scenario.shifts))))
    for changed in asked:
        assert not scenario_offences(changed)
        hashed = scenario_hash(changed)
        after = make_plan(
            changed,
            scenario_hash=hashed,
            made_at=scenario.site.plan_start,
            previous=plan,
            rounds=20,
            chains=1,
        )
        assert not check(changed, after, hashed)
