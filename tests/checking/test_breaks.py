"""The worked example's plan broken in one way after another: each is named, with who breaks it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from scheduler.checking import check, costs
from scheduler.model import Forced, Plan, Reason, Scenario, Unplaced
from scheduler.model.codec import read_plan_file, read_scenario_file
from tests.builders import WORKED_EXAMPLE, a_downtime, a_drying_row, a_pin, at
from tests.checking.edits import (
    Edit,
    Pair,
    another_run,
    both,
    feed,
    job,
    move,
    plan,
    run,
    site,
    step,
    thing,
    without_job,
    without_run,
)


def _left_out(job_id: str, check_name: str) -> Edit:
    """A job put among those without a place, with one reason."""

    def edit(scenario: Scenario, made: Plan) -> Pair:
        reason = Reason(check_name, None, None, None, None, None, "so it is said")
        left = replace(made, unplaced=(*made.unplaced, Unplaced(job_id, (reason,))))
        return without_job(job_id)(scenario, left)

    return edit


def _two_hands(scenario: Scenario, made: Plan) -> Pair:
    return replace(scenario, shifts=scenario.shifts[:3]), made


def _silent(scenario: Scenario, made: Plan) -> Pair:
    """The job that nothing fits is told without reasons."""
    told = tuple(replace(one, reasons=()) if one.job == "X" else one for one in made.unplaced)
    return scenario, replace(made, unplaced=told)


def _also_left_out(scenario: Scenario, made: Plan) -> Pair:
    _, left = _left_out("B", "horizon")(scenario, made)
    return scenario, replace(made, unplaced=left.unplaced)


def _wrong_reason(scenario: Scenario, made: Plan) -> Pair:
    """The job that nothing fits is said to fail in one thing more."""
    wrong = Reason("volume", "P1", None, None, None, None, "so it is said")
    told = tuple(
        replace(one, reasons=(*one.reasons, wrong)) if one.job == "X" else one for one in made.unplaced
    )
    return scenario, replace(made, unplaced=told)


def _one_feed(scenario: Scenario, made: Plan) -> Pair:
    one = next(each for each in made.jobs if each.job == "A")
    return job("A", feeds=one.feeds[:1])(scenario, made)


def _five_steps(scenario: Scenario, made: Plan) -> Pair:
    one = next(each for each in made.jobs if each.job == "D")
    return job("D", steps=one.steps[:5])(scenario, made)


def _twice(scenario: Scenario, made: Plan) -> Pair:
    return scenario, replace(made, jobs=(*made.jobs, made.jobs[1]))


BREAKS: list[tuple[str, Edit, str, str]] = [
    # what, edit, rule, who
    ("preheat begins in the changeover", step("A", "preheat", start=274), "steps", "job A"),
    ("gap before start", step("A", "preheat", end=360), "steps", "job A"),
    ("gap before print", step("A", "start", end=365), "steps", "job A"),
    ("gap before cooldown", step("D", "cooldown", start=185), "steps", "job D"),
    ("unload while it cools", step("B", "unload", start=633, end=639), "steps", "job B"),
    ("two jobs on a printer", move("B", -1), "printer", "job B"),
    ("a step runs backwards", step("B", "print", start=614, end=574), "steps", "job B"),
    ("changeover a minute short", step("A", "changeover", start=251), "changeover", "job A"),
    ("changeover a minute long", step("A", "changeover", start=249), "changeover", "job A"),
    ("a nozzle that is not there", feed("G", 0, nozzle="n99"), "names", "job G"),
    ("changeover without its purge", site(purge_min=9), "changeover", "job W1"),
    ("plate takes longer", site(plate_min=5), "changeover", "job A"),
    ("preheat a minute short", step("A", "preheat", start=276), "preheat", "job A"),
    ("plate heats slower", thing("printers", "P3", bed_heat_min=7), "preheat", "job G"),
    ("slower chamber", thing("printers", "P1", heat_tau_min=41.0), "preheat", "job A"),
    ("wrong setpoint", job("A", chamber_c=109.0), "setpoint", "job A"),
    ("setpoint of an unheated machine", job("G", chamber_c=30.0), "setpoint", "job G"),
    ("first layer not watched long enough", site(start_min=6), "steps", "job A"),
    ("unload takes longer", site(unload_min=7), "steps", "job A"),
    ("print a minute short", step("D", "print", end=183), "print", "job D"),
    ("print a minute long", step("D", "print", end=185), "print", "job D"),
    ("slower machine", thing("printers", "P2", speed_factor=1.3), "print", "job D"),
    ("cooldown a minute short", step("A", "cooldown", end=526), "cooldown", "job A"),
    ("cooldown a minute long", step("A", "cooldown", end=528), "cooldown", "job A"),
    ("plate must cool longer", thing("printers", "P3", bed_cool_min=6), "cooldown", "job G"),
    ("unload at night", step("E", "unload", start=970, end=976), "hands", "job E"),
    ("three at work, two there", _two_hands, "hands", "people"),
    ("dryer loaded at night", run("dryer", "r3", start=970, end=1265), "hands", "dryer run r3"),
    ("oven loaded at night", run("oven", "o1", start=970, end=1090), "hands", "oven run o1"),
    ("work after the last shift", move("W2", 370), "hands", "job W2"),
    ("prints alone where it may not", move("W1", 370), "unattended", "job W1"),
    ("before the printer is free", move("D", -1), "not before", "job D"),
    ("before the release", move("K", -1), "not before", "job K"),
    ("spool is not there yet", run("dryer", "r2", start=9, end=369), "not before", "dryer run r2"),
    ("unloads in the machine's downtime", step("E", "unload", start=705, end=711), "downtime", "job E"),
    (
        "prints through a downtime",
        thing("printers", "P1", downtime=(a_downtime(380, 390),)),
        "downtime",
        "job A",
    ),
    (
        "dries through a downtime",
        thing("dryers", "D1", downtime=(a_downtime(100, 110),)),
        "downtime",
        "dryer run r1",
    ),
    (
        "anneals through a downtime",
        thing("ovens", "DO", downtime=(a_downtime(600, 601),)),
        "downtime",
        "oven run o1",
    ),
    ("hotter than the dryer", run("dryer", "r1", setpoint_c=141.0), "dryers", "dryer run r1"),
    ("a setpoint of no recipe", run("dryer", "r1", setpoint_c=110.0), "dryers", "dryer run r1"),
    ("hotter than the spool's body", thing("spools", "s_hot1", body_max_c=119.0), "dryers", "dryer run r1"),
    ("drying a minute short", run("dryer", "r1", end=249), "dryers", "dryer run r1"),
    ("drying a minute long", run("dryer", "r1", end=251), "dryers", "dryer run r1"),
    (
        "two batches at once",
        another_run("dryer", "r1", id="r9", setpoint_c=50.0, start=200, end=450, spools=("s_pla1",)),
        "dryers",
        "dryer run r9",
    ),
    ("more spools than places", thing("dryers", "D1", slots=0), "dryers", "dryer run r1"),
    ("more runs than places", thing("dryers", "R1", slots=1), "dryers", "dryer run r3"),
    ("a rolling dryer at another heat", run("dryer", "r3", setpoint_c=51.0), "dryers", "dryer run r3"),
    ("rolling a minute short", run("dryer", "r3", end=244), "dryers", "dryer run r3"),
    ("its own recipe comes first", run("dryer", "r2", setpoint_c=50.0), "dryers", "dryer run r2"),
    ("a dryer that is not there", run("dryer", "r1", dryer="D9"), "names", "dryer run r1"),
    ("one machine dries and anneals", run("oven", "o1", start=300, end=420), "dryers", "dryer run r2"),
    ("both feeds on one spool", feed("A", 1, spool="s_hot1"), "spools", "job A"),
    ("mounted while it dries", run("dryer", "r1", start=10, end=260), "spools", "spool s_hot1"),
    ("more drawn than there is", thing("spools", "s_cf", grams=399.0), "spools", "spool s_cf"),
    ("on two machines at once", feed("W2", 0, spool="t1"), "spools", "spool t1"),
    ("never dried", without_run("dryer", "r1"), "dryness", "job A"),
    ("open too long", thing("materials", "CF", open_time_min=29), "dryness", "job D"),
    ("another lot", feed("G", 0, spool="s_pla1"), "lots", "job G"),
    ("anneal too cool", run("oven", "o1", temp_c=149.0), "ovens", "oven run o1"),
    ("anneal a minute short", run("oven", "o1", end=671), "ovens", "oven run o1"),
    ("anneals what asks for none", run("oven", "o1", jobs=("A", "B")), "ovens", "oven run o1"),
    ("in the oven before it is unloaded", run("oven", "o1", start=532, end=652), "ovens", "oven run o1"),
    ("no anneal though it asks", both(without_run("oven", "o1"), job("A", oven_run=None)), "ovens", "job A"),
    ("hotter than the oven", thing("ovens", "DO", max_c=149.0), "ovens", "oven run o1"),
    ("names another oven run", job("A", oven_run="o7"), "ovens", "job A"),
    ("pinned a minute off", move("E", 1), "pinned", "job E"),
    ("pinned to another machine", thing("jobs", "E", pinned=a_pin("P1", 251)), "pinned", "job E"),
    ("begun step changed", step("U", "print", end=119), "under way", "job U"),
    ("begun job left out", without_job("U"), "under way", "job U"),
    ("begun run left out", without_run("dryer", "u1"), "under way", "dryer run u1"),
    ("begun run changed", run("dryer", "u1", end=141), "under way", "dryer run u1"),
    ("job forgotten", without_job("B"), "complete", "job B"),
    ("left out though stock is there", _left_out("B", "stock"), "complete", "job B"),
    ("left out for a pin that it has not", _left_out("B", "pinned"), "complete", "job B"),
    ("nothing fits it, no reasons told", _silent, "complete", "job X"),
    ("placed twice", _twice, "complete", "job B"),
    ("excused without being under way", plan(forced=(Forced("B", "hands", "said so"),)), "forced", "job B"),
    ("excused from what it keeps", plan(forced=(Forced("U", "hands", "said so"),)), "forced", "job U"),
    ("a soft nozzle for fibres", feed("D", 0, nozzle="n04"), "match", "job D"),
    (
        "a machine that does not fit",
        both(job("D", printer="P3"), feed("D", 0, nozzle="n04")),
        "match",
        "job D",
    ),
    ("a spool without the certificate", feed("A", 0, spool="s_hot2"), "match", "job A"),
    ("a spool of another material", feed("D", 0, spool="s_pla1"), "match", "job D"),
    ("a feed too few", _one_feed, "match", "job A"),
    ("a step too few", _five_steps, "steps", "job D"),
    ("a head that is not there", feed("D", 0, head="H9"), "names", "job D"),
    ("a spool twice in a run", run("dryer", "r1", spools=("s_hot1", "s_hot1")), "spools", "spool s_hot1"),
    ("a run that dries nothing", run("dryer", "r3", spools=()), "dryers", "dryer run r3"),
    (
        "two spools in a rolling run",
        run("dryer", "r3", spools=("s_pla5", "s_pla3")),
        "dryers",
        "dryer run r3",
    ),
    (
        "a vacuum recipe without vacuum",
        thing("materials", "HOT", drying=(a_drying_row(120.0, 4.0, vacuum=True),)),
        "dryers",
        "dryer run r1",
    ),
    ("more jobs than the oven takes", thing("ovens", "DO", slots=0), "ovens", "oven run o1"),
    ("annealed twice", another_run("oven", "o1", id="o9", start=700, end=820), "ovens", "job A"),
    ("two anneals at once", another_run("oven", "o1", id="o9", start=600, end=720), "ovens", "oven run o9"),
    ("annealed before the plan starts", run("oven", "o1", start=-1, end=119), "not before", "oven run o1"),
    ("mounted before it is there", thing("spools", "s_cf", available_from=at(31)), "not before", "job D"),
    ("begun with another spool", feed("U", 0, spool="s_pla1"), "under way", "job U"),
    ("placed and left out", _also_left_out, "complete", "job B"),
    ("a reason that does not hold", _wrong_reason, "complete", "job X"),
    ("a pinned job left out for want of time", _left_out("E", "horizon"), "complete", "job E"),
    ("left out for a check that it passes", _left_out("B", "bed"), "complete", "job B"),
    ("a bound that is no number", plan(lower_bound=math.nan), "cost", "plan"),
    ("late_cost too good", plan(late_cost=186.0), "cost", "plan"),
    ("people's minutes too few", plan(attended_min=235), "cost", "plan"),
    ("preheat minutes too few", plan(preheat_min=195), "cost", "plan"),
    ("bound above the cost", plan(lower_bound=190.0), "cost", "plan"),
    ("done too early", job("B", done=at(639)), "done", "job B"),
    ("late minutes wrong", job("A", late_min=86), "done", "job A"),
    ("made for another file", plan(scenario_hash="0" * 64), "hash", "plan"),
    ("a spool that is not there", feed("B", 0, spool="s_none"), "names", "job B"),
]


@pytest.fixture(scope="module")
def example() -> tuple[Scenario, str, Plan]:
    scenario, hashed = read_scenario_file(WORKED_EXAMPLE / "scenario.json")
    return scenario, hashed, read_plan_file(WORKED_EXAMPLE / "plan.json", scenario)


def test_worked_example_is_valid_and_gives_its_figures(example: tuple[Scenario, str, Plan]) -> None:
    scenario, hashed, made = example
    assert check(scenario, made, hashed) == ()
    found = costs(scenario, made)
    # X fits nothing. A: 87 min late, weight 2; Y is done as if on 14 March 14:00, 11,000 min late.
    assert found.late_cost == pytest.approx(186.2333, abs=0.005)
    assert (found.attended_min, found.preheat_min) == (236, 196)


def test_there_are_enough_ways() -> None:
    assert len(BREAKS) >= 60
    rules = {rule for _, _, rule, _ in BREAKS}
    assert rules >= {
        "steps",
        "changeover",
        "preheat",
        "setpoint",
        "print",
        "cooldown",
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
        "hash",
        "names",
    }


@pytest.mark.parametrize(("edit", "rule", "who"), [one[1:] for one in BREAKS], ids=[one[0] for one in BREAKS])
def test_each_break_is_named(example: tuple[Scenario, str, Plan], edit: Edit, rule: str, who: str) -> None:
    scenario, hashed, made = example
    changed_scenario, changed = edit(scenario, made)
    assert (changed_scenario, changed) != (scenario, made)
    breaches = check(changed_scenario, changed, hashed)
    named = {(one.rule, one.who) for one in breaches}
    assert (rule, who) in named, "\n".join(map(str, breaches)) or "valid"
