"""A shop changed in memory is held to the same rules as a file."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import datetime

from scheduler.model import Scenario
from scheduler.model.codec import scenario_offences
from tests.builders import (
    a_dryer,
    a_job,
    a_material,
    a_printer,
    a_progress,
    a_scenario,
    a_shift,
    a_site,
    a_spool,
    at,
    steps,
)


def said(scenario: Scenario) -> list[str]:
    return [str(offence) for offence in scenario_offences(scenario)]


def test_the_builders_make_a_shop_that_is_right() -> None:
    assert said(a_scenario()) == []
    assert said(a_scenario(jobs=[a_job(progress=a_progress())])) == []


def test_rules_between_parts() -> None:
    shop = a_scenario(
        shifts=[a_shift(10, 10)],
        materials=[a_material(release_c=20.0)],
        printers=[a_printer(chamber_reach_c=90.0)],
        dryers=[a_dryer(fixed_c=60.0)],
        spools=[a_spool(), a_spool(material="PEX")],
        jobs=[a_job(same_lot_as="J9", progress=replace(a_progress(), steps=steps(-30, -26, -5)))],
    )
    assert said(shop) == [
        "shifts[0].end: the shift ends at 2031-03-03T06:10:00+00:00, when it starts",
        "materials[0].release_c: material ABS: a release at 20 °C is not above the room's 20 °C",
        "printers[0].chamber_reach_c: printer P1: a reach of 90 °C is not above the chamber's "
        "maximum of 90 °C",
        "dryers[0].fixed_c: dryer D1: a batch dryer has no fixed temperature, yet 60 is given",
        "spools[1].id: spool s1: the id s1 is given already at spools[0].id",
        "spools[1].material: spool s1: there is no material PEX",
        "jobs[0].same_lot_as: job J1: there is no job J9",
        "jobs[0].progress.steps: job J1: the preheat ended at 2031-03-03T05:55:00+00:00, so the "
        "start began then: list it too",
    ]


def test_single_values() -> None:
    shop = a_scenario(
        site=a_site(ambient_c=float("nan"), plate_min=1.5),
        jobs=[a_job(release=datetime(2031, 3, 3), due=at(0).replace(second=5), feeds=())],
    )
    assert said(shop) == [
        "site.ambient_c: NaN is not a number",
        "site.plate_min: 1.5 is not a whole number",
        'jobs[0].release: job J1: "2031-03-03T00:00:00" has no offset from UTC, such as +01:00',
        'jobs[0].due: job J1: "2031-03-03T06:00:05+00:00" is not on a whole minute',
        "jobs[0].feeds: job J1: at least 1 is needed, there is none",
    ]


def test_quick_enough_for_a_form() -> None:
    shop = a_scenario(
        printers=[a_printer(f"P{n}") for n in range(18)],
        spools=[a_spool(f"s{n}") for n in range(45)],
        jobs=[a_job(f"J{n}") for n in range(110)],
    )
    before = time.perf_counter()
    assert scenario_offences(shop) == ()
    # Some 15 ms alone on the machine; far more than that would be felt at every save.
    assert time.perf_counter() - before < 0.5
