"""What began before the plan's start: it stands as given, and what follows it has rules of its own."""

from __future__ import annotations

from dataclasses import replace

from scheduler.checking import check, costs
from scheduler.model import FeedChoice, Forced, Job, Plan, Scenario
from tests.builders import (
    a_downtime,
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
    a_spool,
    at,
)

#: Changeover and preheat have begun. Start 5, print 60, cooldown 32, unload 6 follow.
HEATING = a_progress(-30, -16, 40)
FOLLOWS = (-30, -16, 40, 45, 105, 137, 143)
#: The first layer has begun as well.
WATCHED = a_progress(-40, -26, -3, 2)
BOUND = (-40, -26, -3, 2, 62, 94, 100)


def rules(scenario: Scenario, plan: Plan) -> set[str]:
    """The rules broken, figures apart."""
    return {one.rule for one in check(scenario, plan)} - {"cost"}


def plan_of(*edges: int, **changes: object) -> Plan:
    return a_plan(jobs=(a_planned_job("J1", *edges, **changes),))


def test_only_a_begun_preheat_may_be_held() -> None:
    shop = a_scenario(jobs=[a_job(progress=HEATING)])
    assert rules(shop, plan_of(*FOLLOWS)) == set()
    assert rules(shop, plan_of(-30, -16, 50, 55, 115, 147, 153)) == set()
    assert rules(shop, plan_of(-30, -16, 39, 44, 104, 136, 142)) == {"under way"}
    printing = a_scenario(jobs=[a_job(progress=a_progress(-60, -46, -15, -10, 50))])
    assert rules(printing, plan_of(-60, -46, -15, -10, 50, 82, 88)) == set()
    assert rules(printing, plan_of(-60, -46, -15, -10, 51, 83, 89)) == {"under way"}


def test_given_steps_take_no_hands_and_no_minutes_of_the_figures() -> None:
    # start 5 + unload 6; the preheat has begun
    shop = a_scenario(jobs=[a_job(progress=HEATING)])
    found = costs(shop, plan_of(*FOLLOWS))
    assert (found.attended_min, found.preheat_min) == (11, 0)


def test_print_and_cooldown_follow_a_begun_first_layer_whatever_the_shifts() -> None:
    printer = a_printer(unattended=False, downtime=(a_downtime(10, 90),))
    # nobody is there until the unload at 94
    shop = a_scenario(printers=[printer], shifts=[a_shift(94, 900)], jobs=[a_job(progress=WATCHED)])
    assert rules(shop, plan_of(*BOUND)) == set()
    late = replace(shop, shifts=(a_shift(95, 900),))
    assert rules(late, plan_of(*BOUND)) == {"hands"}
    heating = replace(shop, jobs=(a_job(progress=HEATING),))
    assert rules(heating, plan_of(*FOLLOWS)) == {"hands", "unattended", "downtime"}


def test_no_new_work_takes_the_hands_of_a_begun_job_that_is_forced() -> None:
    # One pair of hands, and nobody there when J1 is unloaded at 137.
    shifts = [a_shift(0, 136, 1), a_shift(190, 900, 1)]
    machines = {"printers": [a_printer(), a_printer("P2")], "spools": [a_spool(), a_spool("s2")]}
    forced = (Forced("J1", "hands", "nobody is there any more to take it off"),)
    feeds = (FeedChoice("H1", "n04", "s2"),)
    second = {"printer": "P2", "feeds": feeds}

    def judged(other: Job, *edges: int) -> set[str]:
        shop = a_scenario(jobs=[a_job(progress=HEATING), other], shifts=shifts, **machines)
        jobs = (a_planned_job("J1", *FOLLOWS), a_planned_job("J2", *edges, **second))
        return rules(shop, a_plan(jobs=jobs, forced=forced))

    # The changeover of a new job ends when J1's first layer begins, at 40; then it lies over it.
    new = a_job("J2")
    assert judged(new, 26, 40, 96, 101, 161, 193, 199) == set()
    assert judged(new, 27, 41, 97, 102, 162, 194, 200) == {"hands"}
    # Another begun job may have no other minute than J1's.
    begun = a_progress(-30, -16, 40, printer="P2", feeds=feeds)
    assert judged(a_job("J2", print_min=113, progress=begun), -30, -16, 40, 45, 158, 190, 196) == set()


def test_release_delivery_and_matcher_do_not_bind_the_rest() -> None:
    shop = a_scenario(
        jobs=[a_job(progress=HEATING, release=at(500), size_mm=(999.0, 999.0, 999.0))],
        spools=[a_spool(available_from=at(500))],
        printers=[a_printer(free_at=at(500))],
    )
    assert rules(shop, plan_of(*FOLLOWS)) == set()


def test_a_spent_open_time_is_excused_only_where_the_plan_names_it() -> None:
    # 60 min open before, mounted to the print's end at 105: 165
    wet = a_material(drying=(a_drying_row(),), open_time_min=164)
    shop = a_scenario(
        materials=[wet], spools=[a_spool(dried=True, exposed_min=60)], jobs=[a_job(progress=HEATING)]
    )
    plan = plan_of(*FOLLOWS)
    (text,) = [one.text for one in check(shop, plan) if one.rule == "dryness"]
    assert "exposed 165 min" in text and "164 min" in text
    assert rules(shop, replace(plan, forced=(Forced("J1", "dryness", "open time is spent"),))) == set()
    wrong = replace(plan, forced=(Forced("J1", "hands", "nobody is there"),))
    assert rules(shop, wrong) == {"dryness", "forced"}
    # a print that has begun is past that
    printing = a_progress(-60, -46, -15, -10, 50)
    gone = replace(shop, jobs=(a_job(progress=printing),), materials=(replace(wet, open_time_min=100),))
    assert rules(gone, plan_of(-60, -46, -15, -10, 50, 82, 88)) == set()


def test_grams_and_pin_bind_until_the_print_begins() -> None:
    pinned = a_job(progress=HEATING, pinned=a_pin("P1", 50))
    empty = a_scenario(jobs=[pinned], spools=[a_spool(grams=10.0)])
    assert rules(empty, plan_of(*FOLLOWS)) == {"pinned", "spools"}
    assert rules(empty, plan_of(-30, -16, 45, 50, 110, 142, 148)) == {"spools"}
    printing = replace(pinned, progress=a_progress(-60, -46, -15, -10, 50))
    assert rules(replace(empty, jobs=(printing,)), plan_of(-60, -46, -15, -10, 50, 82, 88)) == set()


def test_the_chamber_that_a_begun_cooldown_leaves() -> None:
    # Cooldown given from −20 to 12, in all 32 min: 44.55 °C at 12. The next changeover (plate 4) ends at 22:
    # 20 + 24.55 · e^(−10/45) = 39.66 °C; 30 · ln(80.34/50) = 14.23, so 15, + soak 10 = 25
    begun = a_job("J0", progress=a_progress(-120, -106, -85, -80, -20, 12))
    shop = a_scenario(jobs=[begun, a_job("J1")])
    first = a_planned_job("J0", -120, -106, -85, -80, -20, 12, 18)

    def after(start: int) -> set[str]:
        second = a_planned_job("J1", 18, 22, start, start + 5, start + 65, start + 97, start + 103)
        return rules(shop, a_plan(jobs=(first, second)))

    # the head's own state knows no spool, the plan's first job does
    assert after(47) == set()
    assert after(46) == {"preheat"}
