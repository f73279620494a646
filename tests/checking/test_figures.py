"""Figures that a pencil gives, one small shop each."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduler.checking import check
from scheduler.model import Mounted, Plan, Scenario
from tests.builders import (
    a_drying_row,
    a_head,
    a_job,
    a_material,
    a_plan,
    a_planned_job,
    a_printer,
    a_scenario,
    a_site,
    a_spool,
    at,
    steps,
)


def said(scenario: Scenario, plan: Plan, rule: str) -> list[str]:
    """What the checker says of one rule."""
    return [one.text for one in check(scenario, plan) if one.rule == rule]


def one_job(*edges: int, **changes: object) -> Plan:
    return a_plan(jobs=(a_planned_job("J1", *edges, **changes),))


def test_changeover_from_an_empty_head() -> None:
    # plate 4 + spool 3 + nozzle 7 = 14; nothing was mounted, so no purge
    (text,) = said(a_scenario(), one_job(), "changeover")
    assert "lasts 4 min, asked for: 14 min" in text
    assert said(a_scenario(), one_job(0, 14, 70, 75, 135, 160, 166), "changeover") == []


def test_changeover_with_what_was_mounted() -> None:
    def shop(spool: str | None, material: str | None, nozzle: str | None) -> Scenario:
        head = a_head(mounted=Mounted(spool, material, nozzle))
        return a_scenario(printers=[a_printer(heads=(head,))], materials=[a_material(), a_material("PC")])

    # the same spool and nozzle: plate 4 alone
    assert said(shop("s1", "ABS", "n04"), one_job(), "changeover") == []
    # another material was in it: plate 4 + spool 3 + purge 8 = 15
    (text,) = said(shop(None, "PC", "n04"), one_job(), "changeover")
    assert "asked for: 15 min" in text
    # the material is the same, the spool is not known: plate 4 + spool 3 = 7
    (text,) = said(shop(None, "ABS", "n04"), one_job(), "changeover")
    assert "asked for: 7 min" in text


def test_preheat_of_a_cold_chamber() -> None:
    # 30 · ln((120 − 20)/(120 − 70)) = 30 · ln 2 = 20.79, so 21, + soak 10 = 31
    short = one_job(0, 14, 44, 49, 109, 134, 140)
    (text,) = said(a_scenario(), short, "preheat")
    assert "lasts 30 min, asked for: 31 min" in text
    assert said(a_scenario(), one_job(0, 14, 45, 50, 110, 135, 141), "preheat") == []


def test_preheat_of_a_plate_slower_than_the_chamber() -> None:
    # chamber 21, plate 25: 25 + soak 10 = 35
    shop = a_scenario(printers=[a_printer(bed_heat_min=25)])
    (text,) = said(shop, one_job(0, 14, 48, 53, 113, 138, 144), "preheat")
    assert "asked for: 35 min" in text


def test_preheat_waits_for_a_chamber_too_hot() -> None:
    # at minute 14 it is at 20 + 70 · e^(−14/45) = 71.29; 45 · ln(51.29/(40 − 20)) = 42.38, so 43, + 10 = 53
    cool = a_material(chamber_c=type(a_material().chamber_c)(20.0, 40.0), chamber_set_c=40.0)
    shop = a_scenario(materials=[cool], printers=[a_printer(chamber_now_c=90.0)])
    (text,) = said(shop, one_job(0, 14, 66, 71, 131, 145, 151, chamber_c=40.0), "preheat")
    assert "lasts 52 min, asked for: 53 min" in text


def test_cooldown_by_itself() -> None:
    # 45 · ln((70 − 20)/(45 − 20)) = 45 · ln 2 = 31.19, so 32
    (text,) = said(a_scenario(), one_job(0, 14, 45, 50, 110, 141, 147), "cooldown")
    assert "lasts 31 min, asked for: 32 min" in text
    assert said(a_scenario(), one_job(0, 14, 45, 50, 110, 142, 148), "cooldown") == []


def test_cooldown_at_its_cap() -> None:
    # natural rate at 70 °C: 50/45 = 1.11 °C/min, at 45 °C: 0.56; cap 0.5 holds all the way: 25/0.5 = 50
    shop = a_scenario(materials=[a_material(max_cool_c_per_min=0.5)])
    (text,) = said(shop, one_job(0, 14, 45, 50, 110, 142, 148), "cooldown")
    assert "asked for: 50 min" in text


def test_cooldown_first_at_its_cap_then_slower() -> None:
    # cap 0.8: linear until (T − 20)/45 = 0.8, T = 56: 14/0.8 = 17.5; 45 · ln(36/25) = 16.41: in all 34
    shop = a_scenario(materials=[a_material(max_cool_c_per_min=0.8)])
    (text,) = said(shop, one_job(0, 14, 45, 50, 110, 142, 148), "cooldown")
    assert "asked for: 34 min" in text


def test_print_by_speed() -> None:
    # ⌈60 · 1.21⌉ = 73
    shop = a_scenario(printers=[a_printer(speed_factor=1.21)])
    (text,) = said(shop, one_job(0, 14, 45, 50, 122, 154, 160), "print")
    assert "72" in text and "73" in text


@pytest.mark.parametrize(("limit", "good"), [(135, True), (134, False)])
def test_exposure_counts_shelf_and_mount(limit: int, good: bool) -> None:
    # dried, 5 min open before; on the shelf 0–20, mounted 20–130 until the print ends: 5 + 20 + 110 = 135
    wet = a_material(drying=(a_drying_row(),), open_time_min=limit)
    shop = a_scenario(materials=[wet], spools=[a_spool(dried=True, exposed_min=5)])
    plan = one_job(20, 34, 65, 70, 130, 162, 168)
    assert (said(shop, plan, "dryness") == []) == good
    # in dry storage the shelf does not count: 5 + 110 = 115
    dry = replace(shop, site=a_site(dry_storage=True))
    assert said(dry, plan, "dryness") == []
    # nor does the mount on a head with dry feed: 5 + 20 = 25
    fed = replace(shop, printers=(a_printer(heads=(a_head(dry_feed=True),)),))
    assert said(fed, plan, "dryness") == []


def test_late_cost_and_the_tie_break() -> None:
    # done at 148 + 30 = 178, due 100: 78 min late, weight 3: 3.9 late hours
    # people: changeover 14 + start 5 + unload 6 = 25; preheat 31
    shop = a_scenario(jobs=[a_job(due=at(100), weight=3.0, finish_min=30)])
    plan = one_job(0, 14, 45, 50, 110, 142, 148, done=at(178), late_min=78)
    good = replace(plan, late_cost=3.9, attended_min=25, preheat_min=31)
    assert check(shop, good) == ()
    assert said(shop, replace(good, late_cost=3.89), "cost") == ["late_cost is 3.89, worked out: 3.9"]


def test_a_job_left_out_counts_a_week_after_the_last_shift() -> None:
    # shifts end at minute 10,080; 10,080 + 10,080 − due 60 = 20,100 min = 335 h
    shop = a_scenario(jobs=[a_job(due=at(60))])
    (text, *_) = said(shop, a_plan(), "cost")
    assert "worked out: 335" in text


def test_steps_helper_makes_what_the_plans_use() -> None:
    assert [step.kind for step in steps(0, 4, 60)] == ["changeover", "preheat"]
