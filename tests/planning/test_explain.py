"""Explanations against plans placed by hand: each link with its kind, minutes and words."""

from __future__ import annotations

import dataclasses
from itertools import pairwise

import pytest

from scheduler.model import Anneal, FeedChoice, Plan, PlannedJob, Reason, Scenario, Span, Unplaced
from scheduler.model.plan import Forced
from scheduler.planning.explain import Explainer, Explanation, why
from scheduler.planning.explain.words import lasts, listed
from tests.builders import (
    a_downtime,
    a_dryer_run,
    a_drying_row,
    a_job,
    a_material,
    a_pin,
    a_plan,
    a_planned_job,
    a_printer,
    a_progress,
    a_scenario,
    a_shift,
    a_site,
    a_spool,
    an_oven_run,
    at,
)

#: Two days from 06:00 to 22:00 with one person.
DAYS = [a_shift(0, 960, 1), a_shift(1440, 2400, 1)]


def links(explanation: Explanation) -> list[tuple[str, int]]:
    return [(link.kind, link.minutes) for link in explanation.links]


def texts(explanation: Explanation, kind: str) -> list[str]:
    return [link.text for link in explanation.links if link.kind == kind]


def assert_whole(scenario: Scenario, plan: Plan, job: str) -> None:
    """A chain has no gap and no overlap, and ends when the job is done."""
    chain = [link for link in why(scenario, plan, job).links if link.start is not None]
    assert all(one.end == other.start for one, other in pairwise(chain))
    assert chain[-1].end == next(planned.done for planned in plan.jobs if planned.job == job)


def late(job: PlannedJob, minutes: int) -> PlannedJob:
    return dataclasses.replace(job, late_min=minutes)


def test_a_job_alone_is_told_step_by_step_with_its_slack() -> None:
    # From 20 to 70 °C with reach 120 and tau 30: 30·ln(100/50) = 20.8, so 21; soak 10; 156 is done.
    scenario = a_scenario(jobs=[a_job(due=at(186))])
    plan = a_plan(jobs=(a_planned_job("J1", 0, 4, 35, 40, 100, 125, 131),))
    told = why(scenario, plan, "J1")
    assert told.summary == "On time: done Mon 08:11, 55 min before it is due."
    assert links(told) == [
        ("changeover", 4),
        ("heating", 21),
        ("soak", 10),
        ("start", 5),
        ("print", 60),
        ("cooldown", 25),
        ("unload", 6),
    ]
    assert texts(told, "heating") == ["Heating from 20 °C to 70 °C takes 21 min."]
    assert texts(told, "soak") == ["The soak at 70 °C takes 10 min."]
    assert_whole(scenario, plan, "J1")


def test_on_time_to_the_minute_and_no_due_date() -> None:
    plan = a_plan(jobs=(a_planned_job("J1", 0, 4, 35, 40, 100, 125, 131),))
    assert why(a_scenario(jobs=[a_job(due=at(131))]), plan, "J1").summary.startswith("On time to the minute")
    assert why(a_scenario(), plan, "J1").summary == "Done Mon 08:11, with no due date."


def test_a_taken_machine_and_a_night_without_hands_to_unload() -> None:
    first = a_planned_job("J1", 600, 604, 635, 640, 950, 975, 1440)
    first = dataclasses.replace(
        first,
        steps=(*first.steps[:5], dataclasses.replace(first.steps[5], start=at(1440), end=at(1446))),
        done=at(1446),
    )
    second = late(a_planned_job("J2", 1446, 1450, 1481, 1486, 1546, 1571, 1577), 377)
    scenario = a_scenario(shifts=DAYS, jobs=[a_job("J1"), a_job("J2", due=at(1200), release=at(700))])
    plan = a_plan(jobs=(first, second))
    told = why(scenario, plan, "J2")
    assert links(told)[:4] == [("release", 700), ("machine", 275), ("night", 465), ("machine", 6)]
    assert texts(told, "machine") == [
        "P1 is taken by J1, cooled Mon 22:15.",
        "P1 is taken by J1 until Tue 06:06.",
    ]
    assert texts(told, "night") == ["Nobody is there to unload J1 before Tue 06:00."]
    assert told.summary == (
        "6 h 17 min late: nobody is there to unload J1 before Tue 06:00, "
        "and P1 is taken by J1 until Tue 06:06."
    )
    assert_whole(scenario, plan, "J2")


def test_a_wait_longer_than_the_lateness_is_the_cause_and_less_is_not() -> None:
    plan = a_plan(
        jobs=(
            a_planned_job("J1", 0, 4, 35, 40, 100, 125, 131),
            late(a_planned_job("J2", 131, 135, 166, 171, 231, 256, 262), 250),
        )
    )
    scenario = a_scenario(jobs=[a_job("J1"), a_job("J2", due=at(12))])
    assert why(scenario, plan, "J2").summary == (
        # Its own 123 min; the chamber is still warm, so 8 min of its preheat are a hold.
        "4 h 10 min late: even with no wait it would be done only Mon 08:03, "
        "and P1 is taken by J1 until Mon 08:11."
    )
    past = a_scenario(jobs=[a_job("J1"), a_job("J2", due=at(-60))])
    assert "it was due Mon 05:00, before this plan begins" in why(past, plan, "J2").summary


def test_more_than_three_earlier_jobs_are_told_together() -> None:
    jobs = tuple(
        a_planned_job(f"J{k}", *(131 * k + edge for edge in (0, 4, 35, 40, 100, 125, 131))) for k in range(6)
    )
    scenario = a_scenario(jobs=[a_job(f"J{k}") for k in range(6)])
    told = why(scenario, a_plan(jobs=jobs), "J5")
    assert links(told)[:4] == [("machine", 262), ("machine", 131), ("machine", 131), ("machine", 131)]
    assert told.links[0].text == "P1 first runs J0 and J1."
    assert_whole(scenario, a_plan(jobs=jobs), "J5")


def test_a_drying_run_behind_a_busy_dryer() -> None:
    wet = a_material(drying=(a_drying_row(80.0, 4.0),))
    scenario = a_scenario(
        materials=[wet],
        spools=[a_spool("s1"), a_spool("s2")],
        jobs=[a_job("J1", due=at(300))],
    )
    plan = a_plan(
        jobs=(late(a_planned_job("J1", 500, 504, 535, 540, 600, 625, 631), 331),),
        dryer_runs=(
            a_dryer_run("r1", ("s2",), start=at(0), end=at(250)),
            a_dryer_run("r2", ("s1",), start=at(250), end=at(500)),
        ),
    )
    told = why(scenario, plan, "J1")
    assert links(told)[:3] == [("dryer", 250), ("drying", 250), ("changeover", 4)]
    assert told.links[0].text == "D1 is taken by run r1 (spool s2) until Mon 10:10."
    assert told.links[1].text == "Spool s1 dries in D1 at 80 °C until Mon 14:20 (run r2)."
    assert "D1 is taken by run r1" in told.summary
    assert_whole(scenario, plan, "J1")


def test_a_run_begun_late_on_purpose_is_not_what_the_job_waits_for() -> None:
    wet = a_material(drying=(a_drying_row(80.0, 4.0),))
    scenario = a_scenario(
        materials=[wet], spools=[a_spool("s1"), a_spool("s2", dried=True)], jobs=[a_job("J1"), a_job("J2")]
    )
    other = a_planned_job("J2", 0, 4, 35, 40, 569, 594, 600, feeds=(FeedChoice("H1", "n04", "s2"),))
    plan = a_plan(
        jobs=(other, a_planned_job("J1", 600, 604, 635, 640, 700, 725, 731)),
        dryer_runs=(a_dryer_run("r1", ("s1",), start=at(350), end=at(600)),),
    )
    assert links(why(scenario, plan, "J1"))[:2] == [("machine", 600), ("changeover", 4)]


def test_a_rolling_dryer_binds_for_its_hours_not_for_its_stay() -> None:
    wet = a_material(drying=(a_drying_row(60.0, 4.0),))
    rolling = dataclasses.replace(a_scenario().dryers[0], kind="rolling", fixed_c=60.0, warmup_min=0)
    scenario = a_scenario(
        materials=[wet],
        dryers=[rolling],
        jobs=[a_job("J1"), a_job("J2")],
        spools=[a_spool("s1"), a_spool("s2", dried=True)],
    )
    other = a_planned_job("J2", 0, 4, 35, 40, 569, 594, 600, feeds=(FeedChoice("H1", "n04", "s2"),))
    plan = a_plan(
        jobs=(other, a_planned_job("J1", 600, 604, 635, 640, 700, 725, 731)),
        dryer_runs=(a_dryer_run("r1", ("s1",), setpoint_c=60.0, start=at(0), end=at(600)),),
    )
    assert links(why(scenario, plan, "J1"))[0] == ("machine", 600)


def test_a_spool_on_another_printer_and_one_not_delivered() -> None:
    printers = [a_printer("P1"), a_printer("P2")]
    first = a_planned_job("J1", 0, 4, 35, 40, 100, 125, 131, printer="P2")
    second = a_planned_job("J2", 131, 135, 166, 171, 231, 256, 262)
    scenario = a_scenario(printers=printers, jobs=[a_job("J1"), a_job("J2")])
    told = why(scenario, a_plan(jobs=(first, second)), "J2")
    assert links(told)[0] == ("spool", 131)
    assert told.links[0].text == "Spool s1 is on P2 for J1 until Mon 08:11."

    coming = a_scenario(spools=[a_spool("s1", available_from=at(90))])
    plan = a_plan(jobs=(a_planned_job("J1", 90, 94, 125, 130, 190, 215, 221),))
    assert texts(why(coming, plan, "J1"), "delivery") == ["Spool s1 is delivered only Mon 07:30."]


def test_busy_people_are_named() -> None:
    one = [a_shift(0, 2000, 1)]
    printers = [a_printer("P1"), a_printer("P2")]
    other = a_planned_job(
        "J2", 0, 40, 71, 76, 100, 125, 131, printer="P2", feeds=(FeedChoice("H1", "n04", "s2"),)
    )
    mine = a_planned_job("J1", 40, 44, 76, 81, 141, 166, 172)
    scenario = a_scenario(
        shifts=one, printers=printers, spools=[a_spool("s1"), a_spool("s2")], jobs=[a_job("J1"), a_job("J2")]
    )
    told = why(scenario, a_plan(jobs=(other, mine)), "J1")
    assert links(told)[:2] == [("hands", 40), ("changeover", 4)]
    assert told.links[0].text == (
        "The only person there is busy until Mon 06:40 (changeover of J2), "
        "so nobody can do the changeover on P1."
    )
    # The preheat is done at 75; the person starts J2 until 76.
    assert ("hands", 1) in links(told)


@pytest.mark.parametrize(
    ("people", "crew"), [(2, "Both people there are busy"), (3, "All 3 people there are busy")]
)
def test_all_who_are_busy_are_counted(people: int, crew: str) -> None:
    printers = [a_printer(f"P{k}") for k in range(people + 1)]
    others = [
        a_planned_job(
            f"J{k}", 0, 40, 71, 76, 100, 125, 131, printer=f"P{k}", feeds=(FeedChoice("H1", "n04", f"s{k}"),)
        )
        for k in range(1, people + 1)
    ]
    mine = a_planned_job(
        "J0", 40, 44, 76, 81, 141, 166, 172, printer="P0", feeds=(FeedChoice("H1", "n04", "s0"),)
    )
    scenario = a_scenario(
        shifts=[a_shift(0, 2000, people)],
        printers=printers,
        spools=[a_spool(f"s{k}") for k in range(people + 1)],
        jobs=[a_job(f"J{k}") for k in range(people + 1)],
    )
    told = why(scenario, a_plan(jobs=(*others, mine)), "J0")
    assert told.links[0].text.startswith(crew + " until Mon 06:40 (")


def test_the_heat_waits_for_the_morning() -> None:
    mine = a_planned_job("J1", 930, 934, 1440, 1445, 1505, 1530, 1536)
    steps = list(mine.steps)
    steps[1] = dataclasses.replace(steps[1], start=at(1409))
    mine = dataclasses.replace(mine, steps=tuple(steps))
    scenario = a_scenario(shifts=DAYS, jobs=[a_job("J1", release=at(930), due=at(1200))])
    told = why(scenario, a_plan(jobs=(late(mine, 336),)), "J1")
    assert links(told)[:5] == [
        ("release", 930),
        ("changeover", 4),
        ("night", 475),
        ("heating", 21),
        ("soak", 10),
    ]
    assert texts(told, "night") == [
        "Nobody is there to start the print before Tue 06:00, so P1 begins to heat only Tue 05:29."
    ]
    assert told.summary.startswith("5 h 36 min late: nobody is there to start the print before Tue 06:00")


def test_a_machine_that_may_not_run_alone_waits_for_a_whole_shift() -> None:
    scenario = a_scenario(
        shifts=DAYS, printers=[a_printer(unattended=False)], jobs=[a_job("J1", release=at(900))]
    )
    plan = a_plan(jobs=(a_planned_job("J1", 1440, 1444, 1475, 1480, 1540, 1565, 1571),))
    told = why(scenario, plan, "J1")
    assert links(told)[:2] == [("release", 900), ("night", 540)]
    assert told.links[1].text == (
        "P1 may only be hot with somebody there, and this job's 2 h 05 min fit a shift first from Tue 06:00."
    )


def test_a_machine_set_up_in_the_evening_for_the_morning_does_not_blame_its_heat() -> None:
    planned = a_planned_job("J1", 910, 914, 1475, 1480, 1540, 1565, 1571)
    steps = list(planned.steps)
    steps[1] = dataclasses.replace(steps[1], start=at(1444))
    plan = a_plan(jobs=(dataclasses.replace(planned, steps=tuple(steps)),))
    jobs = [a_job("J1", release=at(900))]
    scenario = a_scenario(shifts=DAYS, printers=[a_printer(unattended=False)], jobs=jobs)
    told = why(scenario, plan, "J1")
    assert links(told)[:4] == [("release", 900), ("choice", 10), ("changeover", 4), ("night", 530)]
    assert texts(told, "night") == [
        "P1 may only be hot with somebody there, so P1 begins to heat only Tue 06:04."
    ]


def test_downtime_pin_and_free_choice() -> None:
    down = a_scenario(printers=[a_printer(downtime=(a_downtime(60, 120, "new belt"),))])
    plan = a_plan(jobs=(a_planned_job("J1", 120, 124, 155, 160, 220, 245, 251),))
    assert texts(why(down, plan, "J1"), "downtime") == [
        "P1 is out of use from Mon 07:00 to Mon 08:00 (new belt)."
    ]
    pinned = a_scenario(jobs=[a_job("J1", pinned=a_pin("P1", 160))])
    assert links(why(pinned, plan, "J1"))[0] == ("pinned", 120)
    assert links(why(a_scenario(), plan, "J1"))[0] == ("choice", 120)
    busy = a_scenario(printers=[a_printer(free_at=at(120))])
    assert why(busy, plan, "J1").links[0].text == "P1 takes nothing new before Mon 08:00."


def test_a_cool_job_waits_for_a_hot_chamber_to_fall() -> None:
    # After 25 min of cooling from 70 °C with tau 45: 20 + 50·exp(-25/45) = 48.7 °C; ten minutes on 43.0.
    cool = a_material("PLA", chamber_c=Span(20.0, 35.0), chamber_set_c=30.0, soak_min=0)
    scenario = a_scenario(
        materials=[a_material(), cool],
        spools=[a_spool("s1"), a_spool("s2", "PLA")],
        jobs=[a_job("J1"), a_job("J2", feeds=(dataclasses.replace(a_job().feeds[0], material="PLA"),))],
    )
    first = a_planned_job("J1", 0, 4, 35, 40, 100, 125, 131)
    # 45·ln(23.0/15) = 19.2, so 20 minutes.
    second = a_planned_job(
        "J2", 131, 135, 155, 160, 220, 228, 234, chamber_c=30.0, feeds=(FeedChoice("H1", "n04", "s2"),)
    )
    told = why(scenario, a_plan(jobs=(first, second)), "J2")
    assert ("falling", 20) in links(told)
    assert texts(told, "falling") == ["The chamber falls from 43 °C to 35 °C in 20 min."]


def test_annealing_waits_for_the_oven_and_for_its_company() -> None:
    material = a_material(anneal=Anneal(110.0, 2.0))
    scenario = a_scenario(
        site=a_site(),
        materials=[material],
        printers=[a_printer("P1"), a_printer("P2")],
        spools=[a_spool("s1"), a_spool("s2")],
        jobs=[a_job("J1", anneal=True, finish_min=15), a_job("J2", anneal=True), a_job("J9")],
    )
    mine = a_planned_job("J1", 0, 4, 35, 40, 100, 125, 131, oven_run="v2", done=at(415))
    other = a_planned_job(
        "J2",
        40,
        44,
        75,
        80,
        140,
        165,
        171,
        printer="P2",
        oven_run="v2",
        done=at(400),
        feeds=(FeedChoice("H1", "n04", "s2"),),
    )
    busy = an_oven_run("v1", ("J9",), start=at(-60), end=at(280))
    shared = an_oven_run("v2", ("J1", "J2"), start=at(280), end=at(400))
    told = why(scenario, a_plan(jobs=(mine, other), oven_runs=(busy, shared)), "J1")
    assert links(told)[-3:] == [("oven", 149), ("anneal", 120), ("finish", 15)]
    assert texts(told, "oven") == ["O1 is taken by run v1 (job J9) until Mon 10:40."]
    assert texts(told, "anneal") == ["Annealing in O1 at 110 °C takes 2 h beside J2."]

    soon = dataclasses.replace(shared, start=at(171), end=at(291))
    mine = dataclasses.replace(mine, done=at(306))
    told = why(scenario, a_plan(jobs=(mine, other), oven_runs=(soon,)), "J1")
    assert links(told)[-3:] == [("sharing", 40), ("anneal", 120), ("finish", 15)]


def test_work_under_way_begins_before_the_plan_and_tells_a_broken_rule() -> None:
    scenario = a_scenario(jobs=[a_job("J1", progress=a_progress(-30, -26, -5))])
    plan = a_plan(
        jobs=(a_planned_job("J1", -30, -26, 5, 10, 70, 95, 101),),
        forced=(
            Forced("J1", "dryness", "s1 is exposed 300 min, 240 min allowed"),
            Forced("J1", "spools", "spool s1 holds 20 g, 30 g are asked for"),
        ),
    )
    told = why(scenario, plan, "J1")
    assert told.links[0].start == at(-30)
    assert links(told)[:2] == [("changeover", 4), ("heating", 31)]
    assert [link.kind for link in told.links[-2:]] == ["forced", "forced"]
    assert "s1 is exposed 300 min" in told.links[-2].text
    assert "30 g are asked for" in told.links[-1].text


def test_a_job_that_nothing_fits_names_the_nearest_miss() -> None:
    reasons = (
        Reason("chamber", "P1", None, None, 120, 90, "chamber reaches 90 °C, PPSU asks for at least 120 °C"),
        Reason("nozzle", "P1", "H1", "n04", "hardened", "plain", "n04 is not hardened"),
        Reason("volume", "P2", None, None, 400, 300, "the part is 400 mm wide, P2 takes 300 mm"),
        Reason("volume", None, None, None, None, 7, "7 printers fail volume"),
    )
    told = why(a_scenario(), a_plan(unplaced=(Unplaced("J1", reasons),)), "J1")
    assert told.summary == "Cannot be made here. Nearest is P2: the part is 400 mm wide, P2 takes 300 mm."
    assert [link.text for link in told.links] == [
        "Nearest is P2: the part is 400 mm wide, P2 takes 300 mm.",
        "P1: chamber reaches 90 °C, PPSU asks for at least 120 °C and n04 is not hardened.",
        "7 printers fail volume.",
    ]


@pytest.mark.parametrize(
    ("check", "beginning"),
    [
        ("stock", "No place in this plan: no spool with enough"),
        ("horizon", "No place in this plan: its attended work"),
        ("pinned", "No place in this plan: it is pinned"),
    ],
)
def test_a_job_left_out_says_which_rule(check: str, beginning: str) -> None:
    reason = Reason(check, None, None, None, None, None, "the figures.")
    told = why(a_scenario(), a_plan(unplaced=(Unplaced("J1", (reason,)),)), "J1")
    assert told.summary.startswith(beginning)
    assert told.summary.endswith("(the figures).")


def test_jobs_and_machines_that_came_or_went_after_the_plan() -> None:
    assert why(a_scenario(), a_plan(), "J1").summary.startswith("Not in this plan: it was added later")
    plan = a_plan(jobs=(a_planned_job("J1", 0, 4, 35, 40, 100, 125, 131, printer="P9"),))
    assert why(a_scenario(), plan, "J1").summary == (
        "Done Mon 08:11, with no due date. The plan is older than the shop: printer P9 is gone."
    )
    with pytest.raises(KeyError, match="J7"):
        Explainer(a_scenario(), a_plan()).why("J7")


def test_words() -> None:
    assert [lasts(m) for m in (0, 59, 60, 125, 2880, 3000)] == [
        "0 min",
        "59 min",
        "1 h",
        "2 h 05 min",
        "2 days",
        "2 days 2 h",
    ]
    assert [listed(list("abcdef"[:n])) for n in (0, 1, 2, 3, 4)] == [
        "",
        "a",
        "a and b",
        "a, b and c",
        "a, b and 2 more",
    ]


def test_times_are_local_and_carry_a_date_when_far() -> None:
    scenario = a_scenario(site=a_site(timezone="America/New_York"), jobs=[a_job("J1")])
    plan = a_plan(jobs=(a_planned_job("J1", 11520, 11524, 11555, 11560, 11620, 11645, 11651),))
    # 8 days, 2 h 11 min after Mon 3 March 06:00 UTC: Tue 11 March 08:11 UTC, 04:11 in New York (summer time).
    assert why(scenario, plan, "J1").summary == "Done Tue 11 Mar 04:11, with no due date."
