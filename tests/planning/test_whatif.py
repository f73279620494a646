"""Trials for a job: made by hand where the answer is plain, and valid on random shops."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from scheduler.checking import check
from scheduler.matching import Matcher
from scheduler.model import Job, Plan, Scenario
from scheduler.model.codec import scenario_hash, scenario_offences
from scheduler.planning import make_plan
from scheduler.planning.insert import insert
from scheduler.planning.whatif import CannotTry, late_hours, other_machines, what_would_save
from scheduler.planning.whatif.changes import changes
from scheduler.planning.whatif.words import line, summary
from tests.builders import (
    a_drying_row,
    a_feed,
    a_job,
    a_material,
    a_nozzle,
    a_pin,
    a_printer,
    a_progress,
    a_scenario,
    a_shift,
    a_spool,
    at,
)
from tests.planning.random_shops import random_shop


def planned(scenario: Scenario) -> Plan:
    return make_plan(
        scenario, scenario_hash=scenario_hash(scenario), made_at=scenario.site.plan_start, rounds=50, chains=1
    )


def queue_of_two(**changes: object) -> Scenario:
    """One printer, a heavy job first and a light one behind it that is late."""
    jobs = [
        a_job("first", print_min=600, due=at(700), weight=9.0),
        a_job("second", print_min=600, due=at(900), weight=1.0),
    ]
    spools = [a_spool("s1"), a_spool("s2")]
    return a_scenario(**({"jobs": jobs, "spools": spools} | changes))


def test_a_second_machine_saves_the_second_job() -> None:
    scenario = queue_of_two()
    plan = planned(scenario)
    tried = what_would_save(scenario, plan, "second", rounds=0)
    assert tried.today.late_min > 0 and not tried.today.saves
    machine = next(trial for trial in tried.helpful if trial.kind == "machine")
    assert machine.saves and machine.printer == "P1-extra"
    assert machine.late_h < tried.today.late_h
    assert machine.won_min is not None and machine.won_min >= tried.today.late_min
    assert {trial.kind for trial in tried.idle} >= {"hand", "spool"}
    assert "second" in summary(tried)


def test_moving_the_promise_of_the_job_ahead_saves_the_second_and_says_its_price() -> None:
    scenario = queue_of_two()
    tried = what_would_save(scenario, planned(scenario), "second", rounds=0)
    promise = next(trial for trial in tried.helpful if trial.kind == "promise")
    assert promise.saves and promise.words == "first after it, with a later promise"
    assert promise.aside.startswith("first ") and promise.aside.endswith("after its present promise")
    assert promise.others_late_h > 0
    # The cheapest that saves it stands first.
    assert tried.trials[0].kind == "promise"


def test_a_dry_spool_saves_what_waits_for_a_dryer() -> None:
    wet = a_material(drying=(a_drying_row(80.0, 12.0),), open_time_min=2000)
    scenario = a_scenario(materials=[wet], jobs=[a_job("J", due=at(300))])
    tried = what_would_save(scenario, planned(scenario), "J", rounds=0)
    helpful = {trial.kind: trial for trial in tried.helpful}
    assert helpful["spool"].saves
    # A second dryer dries no sooner.
    assert "dryer" not in helpful


def test_an_hour_of_overtime_saves_what_ends_after_hours() -> None:
    """The unload finds nobody from 10:00 on until the next morning."""
    shifts = [a_shift(0, 240, 1), a_shift(1440, 1680, 1)]
    scenario = a_scenario(shifts=shifts, jobs=[a_job("J", print_min=200, due=at(400))])
    tried = what_would_save(scenario, planned(scenario), "J", rounds=0)
    helpful = {trial.kind: trial for trial in tried.helpful}
    assert not tried.today.saves
    assert helpful.keys() == {"overtime"} and helpful["overtime"].saves
    assert helpful["overtime"].words == "one person an hour longer, Mon 10:00 to 11:00"


def test_a_nozzle_is_tried_where_nothing_else_lacks() -> None:
    glass = a_material("GF", abrasive=True)
    hard = a_printer("P1")
    hard = replace(hard, heads=(replace(hard.heads[0], nozzles=(a_nozzle("n", hardened=True),)),))
    jobs = [a_job("A", feeds=(a_feed("GF"),), print_min=600, weight=9.0, due=at(700))]
    jobs.append(a_job("B", feeds=(a_feed("GF"),), print_min=600, due=at(900)))
    scenario = a_scenario(
        materials=[glass],
        printers=[hard, a_printer("P2")],
        spools=[a_spool("g1", "GF"), a_spool("g2", "GF")],
        jobs=jobs,
    )
    plan = planned(scenario)
    tried = what_would_save(scenario, plan, "B", rounds=0)
    nozzle = next(trial for trial in tried.helpful if trial.kind == "nozzle")
    assert nozzle.saves and nozzle.printer == "P2" and nozzle.words == "a hardened nozzle of 0.4 mm for P2"


def test_other_machines_are_tried_one_by_one() -> None:
    scenario = queue_of_two(printers=[a_printer("P1"), a_printer("P2", speed_factor=3.0)])
    plan = planned(scenario)
    where = {one.job: one.printer for one in plan.jobs}
    tried = other_machines(scenario, plan, "second", rounds=0)
    assert [trial.words for trial in tried.trials] == [{"P1": "P2", "P2": "P1"}[where["second"]]]
    assert tried.trials[0].printer == tried.trials[0].words
    assert tried.trials[0].others_late_h == pytest.approx(tried.today.others_late_h)


@pytest.mark.parametrize(
    ("job", "words"),
    [
        (a_job("J", progress=a_progress()), "has begun on P1"),
        (a_job("J", pinned=a_pin("P1", 300)), "is pinned to P1"),
        (a_job("K"), "there is no job J"),
    ],
)
def test_what_cannot_be_tried_says_why(job: Job, words: str) -> None:
    scenario = a_scenario(jobs=[job])
    with pytest.raises(CannotTry, match=words):
        what_would_save(scenario, planned(scenario), "J", rounds=0)


def test_time_up_leaves_the_rest_and_says_how_many() -> None:
    scenario = queue_of_two()
    ticks = iter(range(1000))
    tried = what_would_save(
        scenario, planned(scenario), "second", rounds=0, limit_s=0.5, timer=lambda: float(next(ticks))
    )
    assert len(tried.trials) == 1 and tried.left > 3


def test_equal_questions_get_equal_answers() -> None:
    scenario = queue_of_two()
    plan = planned(scenario)
    one, two = (what_would_save(scenario, plan, "second", rounds=40) for _ in range(2))
    assert one.trials == two.trials


@pytest.mark.parametrize("seed", range(12))
def test_random_shops_every_change_is_a_valid_shop_and_every_trial_a_valid_plan(seed: int) -> None:
    scenario = random_shop(seed)
    plan = planned(scenario)
    free = [job for job in scenario.jobs if job.progress is None and job.pinned is None]
    if not free:
        return
    job = random.Random(seed).choice(free)
    for change in changes(scenario, plan, job, Matcher(scenario)):
        assert not scenario_offences(change.scenario), change.words
        rest = replace(change.scenario, jobs=tuple(one for one in change.scenario.jobs if one.id != job.id))
        ahead = replace(plan, jobs=tuple(one for one in plan.jobs if one.job != job.id))
        found = insert(rest, ahead, [job], aside=change.aside)
        hashed = scenario_hash(found.scenario)
        assert not check(found.scenario, found.plan(hashed, scenario.site.plan_start), hashed), change.words
    tried = what_would_save(scenario, plan, job.id, rounds=20)
    assert late_hours(scenario, plan) == pytest.approx(plan.late_cost, abs=0.01)
    for trial in tried.trials:
        assert line(trial, scenario.site)
        # A job that more is given to, and nothing taken from, is never worse off in the weighted sum.
        if trial.kind not in ("promise", "none") and trial.done is not None and tried.today.done is not None:
            own = trial.late_min * job.weight / 60
            today = tried.today.late_min * job.weight / 60
            assert trial.late_h + 4 * own <= tried.today.late_h + 4 * today + 0.02
