"""Made-up scenarios: valid, repeatable, and with every feature of a shop in every size."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise

import pytest

from demo_fleet.dice import Dice
from demo_fleet.generator import UnknownSize, generate
from demo_fleet.made_fleet import class_counts
from demo_fleet.sizes import SIZES
from scheduler.matching import Matcher
from scheduler.model import Scenario
from scheduler.model.codec import encode_scenario, scenario_offences, to_json

SMALL = [("S", seed) for seed in range(1, 11)] + [("M", 1), ("M", 2), ("L", 1)]


@pytest.fixture(scope="module", params=SMALL, ids=lambda case: f"{case[0]}-{case[1]}")
def shop(request: pytest.FixtureRequest) -> Iterator[tuple[str, Scenario]]:
    size, seed = request.param
    yield size, generate(size, seed)


def test_it_is_valid_and_of_its_size(shop: tuple[str, Scenario]) -> None:
    size, scenario = shop
    assert scenario_offences(scenario) == ()
    assert (len(scenario.printers), len(scenario.jobs)) == (SIZES[size].printers, SIZES[size].jobs)


def _features(scenario: Scenario) -> dict[str, bool]:
    """Each feature that a scenario can have, and whether this one has it."""
    jobs, start = scenario.jobs, scenario.site.plan_start
    heads = [head for printer in scenario.printers for head in printer.heads]
    materials = {each.id: each for each in scenario.materials}
    extracted = {each.id for each in scenario.materials if each.needs_extraction}
    begun = [job.progress for job in jobs if job.progress is not None]
    last = [progress.steps[-1] for progress in begun if len(progress.steps) < 6]
    finished = {job.id for job in jobs if job.progress is not None and len(job.progress.steps) == 6}
    in_oven = {name for run in scenario.under_way.oven_runs for name in run.jobs}
    kinds = {dryer.id: dryer for dryer in scenario.dryers}
    return {
        "two heads": any(len(printer.heads) == 2 for printer in scenario.printers),
        "two feeds": any(len(job.feeds) == 2 for job in jobs),
        "one lot": any(job.same_lot_as is not None for job in jobs),
        "pinned": any(job.pinned is not None for job in jobs),
        "begun preheat": any(step.kind == "preheat" for step in last),
        "begun print": any(step.kind == "print" for step in last),
        "begun cooldown": any(step.kind == "cooldown" for step in last),
        "waiting for the oven": bool(finished - in_oven),
        "in the oven": bool(in_oven),
        "begun batch run": any(kinds[r.dryer].kind == "batch" for r in scenario.under_way.dryer_runs),
        "begun rolling run": any(kinds[r.dryer].kind == "rolling" for r in scenario.under_way.dryer_runs),
        "attended machine": any(not printer.unattended for printer in scenario.printers),
        "dry feed": any(head.dry_feed for head in heads) and any(not head.dry_feed for head in heads),
        "vacuum dryer": any(dryer.vacuum for dryer in scenario.dryers),
        "dryer and oven in one": bool(set(kinds) & {oven.id for oven in scenario.ovens}),
        "own rows": any(spool.drying is not None for spool in scenario.spools),
        "late spool": any(spool.available_from > start for spool in scenario.spools),
        "dried and exposed": any(spool.dried and spool.exposed_min > 0 for spool in scenario.spools),
        "certificate": any(feed.certs for job in jobs for feed in job.feeds),
        "downtime": any(printer.downtime for printer in scenario.printers)
        and any(dryer.downtime for dryer in scenario.dryers),
        "annealing": any(job.anneal for job in jobs),
        "extraction": any(job.feeds[0].material in extracted for job in jobs)
        and any(not printer.extraction for printer in scenario.printers),
        "qualification": any(job.needs_qualified for job in jobs),
        "purges": bool(scenario.site.purges),
        "no due date": any(job.due is None for job in jobs),
        "late release": any(job.release > start for job in jobs),
        "two bores": len({head.filament_mm for head in heads}) == 2,
        "corrosive": any(materials[job.feeds[0].material].corrosive for job in jobs),
        "abrasive": any(materials[job.feeds[0].material].abrasive for job in jobs),
        "soft body": any(
            all(row.temp_c > spool.body_max_c for row in spool.drying or materials[spool.material].drying)
            for spool in scenario.spools
        ),
    }


def test_every_feature_is_there(shop: tuple[str, Scenario]) -> None:
    missing = [name for name, there in _features(shop[1]).items() if not there]
    assert missing == []


def test_only_the_intended_jobs_are_impossible(shop: tuple[str, Scenario]) -> None:
    size, scenario = shop
    matcher = Matcher(scenario)
    impossible = [job for job in scenario.jobs if not matcher.fits_something(job.id)]
    assert len(impossible) == SIZES[size].impossible


def test_begun_and_pinned_jobs_fit_where_they_are(shop: tuple[str, Scenario]) -> None:
    matcher = Matcher(shop[1])
    for job in shop[1].jobs:
        at = job.progress.printer if job.progress else job.pinned.printer if job.pinned else None
        if at is None:
            continue
        # A spent spool is what the print under way must live with; the machine itself fits.
        checks = {reason.check for reason in matcher.failures(job.id, at)} - {"spool"}
        assert checks == set(), (job.id, at)


def test_no_printer_does_two_things_at_once(shop: tuple[str, Scenario]) -> None:
    busy: dict[str, list[tuple[datetime, datetime]]] = {}
    for job in shop[1].jobs:
        if job.progress is not None:
            steps = job.progress.steps
            busy.setdefault(job.progress.printer, []).append((steps[0].start, steps[-1].end))
    for stretches in busy.values():
        for one, other in pairwise(sorted(stretches)):
            assert one[1] <= other[0]


def test_short_stock_can_serve_one_of_two(shop: tuple[str, Scenario]) -> None:
    size, scenario = shop
    for number in range(1, SIZES[size].short + 1):
        tag = f"tested-lot-{number}"
        asked = [job for job in scenario.jobs if tag in job.feeds[0].certs]
        there = sum(spool.grams for spool in scenario.spools if tag in spool.certs)
        grams = [job.feeds[0].grams for job in asked]
        assert len(grams) == 2 and max(grams) <= there < sum(grams)
        assert any(job.due is None for job in asked)


def test_print_times_are_those_of_a_shop() -> None:
    minutes = sorted(job.print_min for job in generate("L", 1).jobs)
    assert minutes[0] >= 60 and minutes[-1] <= 1800
    assert 360 <= minutes[len(minutes) // 2] <= 840
    overnight = sum(540 <= each <= 960 for each in minutes) / len(minutes)
    assert overnight > 0.3


def test_some_seeds_have_no_dry_storage() -> None:
    stored = {seed: generate("S", seed).site.dry_storage for seed in range(1, 9)}
    assert stored[4] is False and stored[8] is False and stored[1] is True


def test_figures_stay_the_same_from_run_to_run() -> None:
    text = to_json(encode_scenario(generate("S", 1)))
    assert text == to_json(encode_scenario(generate("S", 1)))
    assert text != to_json(encode_scenario(generate("S", 2)))


def test_dice_give_the_same_figures_on_every_python() -> None:
    dice = Dice("a seed")
    rolled = [dice.whole(1, 1000) for _ in range(5)] + dice.shuffled([1, 2, 3, 4, 5])
    rolled.append(round(dice.lognormal(5, 0.5), 6))
    assert rolled == [398, 38, 766, 401, 874, 2, 4, 1, 3, 5, 6.389042]


def test_classes_add_up_in_every_size() -> None:
    assert class_counts(8) == {"open": 3, "warm": 2, "hot": 2, "very-hot": 1}
    for size in SIZES.values():
        counts = class_counts(size.printers)
        assert sum(counts.values()) == size.printers and min(counts.values()) >= 1


def test_an_unknown_size_is_refused() -> None:
    with pytest.raises(UnknownSize, match="'XXL' is none of S, M, L, XL"):
        generate("XXL", 1)


def test_the_largest_size_comes_quickly() -> None:
    began = time.monotonic()
    scenario = generate("XL", 1)
    assert time.monotonic() - began < 20
    assert (len(scenario.printers), len(scenario.jobs)) == (2000, 20000)
    assert scenario_offences(scenario) == ()
