"""Small random shops in which every check passes here and fails there, often by a hair."""

from __future__ import annotations

import random
from dataclasses import replace

from scheduler.model import (
    Anneal,
    Feed,
    Head,
    Job,
    Material,
    Nozzle,
    Printer,
    Scenario,
    Span,
    Spool,
    UnderWay,
)
from tests.builders import (
    a_dryer,
    a_dryer_run,
    a_drying_row,
    a_feed,
    a_head,
    a_job,
    a_material,
    a_nozzle,
    a_printer,
    a_scenario,
    a_shift,
    a_site,
    a_spool,
    an_oven,
)

SURFACES = ("glass", "sheet", "film")
TAGS = ("lot", "food")


def _some(dice: random.Random, tags: tuple[str, ...], share: float) -> tuple[str, ...]:
    return tuple(tag for tag in tags if dice.random() < share)


def _window(dice: random.Random, ends: tuple[float, ...]) -> Span:
    lo, hi = sorted((dice.choice(ends), dice.choice(ends)))
    return Span(lo, hi)


def _material(dice: random.Random, number: int) -> Material:
    rows = [
        a_drying_row(dice.choice([50.0, 60.0, 80.0, 120.0]), dice.choice([2.0, 4.0]), dice.random() < 0.3)
        for _ in range(dice.choice([0, 1, 1, 2]))
    ]
    return a_material(
        f"M{number}",
        filament_mm=dice.choice([1.75, 1.75, 1.75, 2.85]),
        nozzle_c=Span(dice.choice([200.0, 250.0, 300.0]), 350.0),
        bed_c=_window(dice, (40.0, 60.0, 80.0, 100.0, 120.0)),
        chamber_c=_window(dice, (15.0, 20.0, 40.0, 60.0, 90.0)) if dice.random() < 0.8 else Span(20.0, 90.0),
        chamber_set_c=dice.choice([10.0, 30.0, 60.0, 100.0]),
        surfaces=_some(dice, SURFACES, 0.4),
        abrasive=dice.random() < 0.3,
        corrosive=dice.random() < 0.2,
        needs_extraction=dice.random() < 0.3,
        min_nozzle_mm=dice.choice([0.25, 0.4]),
        drying=tuple(rows),
        open_time_min=dice.choice([None, 90, 120, 240]),
        soak_min=dice.choice([0, 11, 20]),
        release_c=dice.choice([25.0, 40.0, 60.0]),
        max_cool_c_per_min=dice.choice([None, 0.3, 1.0]),
        anneal=dice.choice([None, Anneal(100.0, 2.0), Anneal(180.0, 2.0)]),
    )


def _nozzle(dice: random.Random, name: str) -> Nozzle:
    return a_nozzle(
        name,
        dice.choice([0.25, 0.4, 0.6]),
        hardened=dice.random() < 0.6,
        corrosion_proof=dice.random() < 0.6,
        max_c=dice.choice([250.0, 300.0, 450.0]),
    )


def _head(dice: random.Random, name: str) -> Head:
    return a_head(
        name,
        max_c=dice.choice([250.0, 300.0, 400.0]),
        filament_mm=dice.choice([1.75, 1.75, 1.75, 2.85]),
        dry_feed=dice.random() < 0.3,
        nozzles=tuple(_nozzle(dice, f"{name}n{place}") for place in range(dice.choice([0, 1, 2, 2, 3]))),
    )


def _printer(dice: random.Random, name: str) -> Printer:
    chamber_max_c = dice.choice([None, 15.0, 40.0, 60.0, 100.0])
    return a_printer(
        name,
        bed_max_c=dice.choice([60.0, 80.0, 100.0, 120.0]),
        chamber_max_c=chamber_max_c,
        chamber_reach_c=None if chamber_max_c is None else chamber_max_c + 30.0,
        cool_tau_min=dice.choice([20.0, 45.0]),
        bed_heat_min=dice.choice([5, 10]),
        bed_cool_min=dice.choice([0, 8]),
        volume_mm=tuple(dice.choice([100.0, 200.0, 300.0]) for _ in range(3)),
        surfaces=_some(dice, SURFACES, 0.6),
        extraction=dice.random() < 0.7,
        unattended=dice.random() < 0.5,
        speed_factor=dice.choice([1.0, 0.75, 1.25, 1.1]),
        qualified=_some(dice, TAGS, 0.7),
        heads=tuple(_head(dice, f"H{place}") for place in range(dice.choice([1, 2]))),
    )


def _spool(dice: random.Random, number: int, materials: int) -> Spool:
    own = None
    if dice.random() < 0.2:
        own = tuple(a_drying_row(dice.choice([45.0, 60.0])) for _ in range(dice.choice([0, 1])))
    return a_spool(
        f"s{number}",
        f"M{dice.randrange(materials)}",
        grams=dice.choice([50.0, 100.0, 200.0]),
        body_max_c=dice.choice([55.0, 80.0, 130.0]),
        certs=_some(dice, TAGS, 0.6),
        dried=dice.random() < 0.3,
        exposed_min=dice.choice([0, 90, 91, 240]),
        drying=own,
    )


def _feed(dice: random.Random, materials: int) -> Feed:
    bores = tuple(dice.sample([0.25, 0.4, 0.6], dice.choice([1, 2, 3])))
    grams = dice.choice([50.0, 100.0, 201.0])
    return a_feed(
        f"M{dice.randrange(materials)}", grams=grams, nozzle_mm=bores, certs=_some(dice, TAGS, 0.15)
    )


def _job(dice: random.Random, name: str, materials: int) -> Job:
    return a_job(
        name,
        print_min=dice.choice([0, 30, 60, 75, 200]),
        size_mm=tuple(dice.choice([50.0, 100.0, 200.0, 201.0]) for _ in range(3)),
        needs_qualified=_some(dice, TAGS, 0.2),
        anneal=dice.random() < 0.2,
        feeds=tuple(_feed(dice, materials) for _ in range(dice.choice([1, 1, 2]))),
    )


def _easier(dice: random.Random, scenario: Scenario) -> Scenario:
    """The same shop with most hurdles away, so that the durations decide what fits."""
    materials = tuple(
        replace(
            material,
            filament_mm=1.75,
            nozzle_c=Span(200.0, 350.0),
            bed_c=Span(40.0, 120.0),
            chamber_c=dice.choice([Span(15.0, 90.0), Span(20.0, 60.0), Span(40.0, 90.0)]),
            surfaces=(),
            abrasive=False,
            needs_extraction=False,
        )
        for material in scenario.materials
    )
    printers = tuple(
        replace(
            printer,
            chamber_max_c=dice.choice([60.0, 100.0]),
            chamber_reach_c=130.0,
            unattended=dice.random() < 0.2,
            heads=tuple(replace(head, filament_mm=1.75) for head in printer.heads),
        )
        for printer in scenario.printers
    )
    # A spool of every material for every draw, and a stretch about as long as the jobs are hot.
    spools = [
        a_spool(f"{material.id}-{copy}", material.id, certs=TAGS, dried=True)
        for material in materials
        for copy in range(2)
    ]
    length = dice.randint(70, 190)
    return replace(
        scenario,
        materials=materials,
        printers=printers,
        spools=(*scenario.spools, *spools),
        shifts=(a_shift(-30, length), a_shift(length + 10, length + 60)),
    )


def a_small_shop(seed: int, printers: int | None = None) -> Scenario:
    """A random shop, an easier one for odd seeds; with ``printers``, one of exactly so many."""
    dice = random.Random(seed)
    materials = dice.randint(1, 4)
    spools = [_spool(dice, number, materials) for number in range(dice.randint(0, 9))]
    begun = [spool.id for spool in spools if dice.random() < 0.1]
    edges = sorted(dice.sample(range(-300, 900, 10), 6))
    shifts = [
        a_shift(start, end, dice.choice([0, 1, 2]))
        for start, end in zip(edges[::2], edges[1::2], strict=True)
    ]
    if dice.random() < 0.5:
        shifts.append(a_shift(edges[1], edges[3], 1))
    dryers = [
        a_dryer(max_c=dice.choice([60.0, 100.0]), vacuum=dice.random() < 0.3),
        a_dryer(
            "R1", kind="rolling", max_c=60.0, fixed_c=dice.choice([50.0, 60.0]), vacuum=dice.random() < 0.2
        ),
    ]
    count = dice.randint(1, 6) if printers is None else printers
    fleet = [_printer(dice, f"P{dice.randrange(1_000)}-{number}") for number in range(count)]
    scenario = a_scenario(
        site=a_site(ambient_c=dice.choice([18.0, 20.0])),
        shifts=shifts if dice.random() < 0.9 else [],
        materials=[_material(dice, number) for number in range(materials)],
        printers=fleet,
        dryers=dice.sample(dryers, dice.choice([0, 1, 2])),
        ovens=[an_oven(max_c=dice.choice([99.0, 100.0, 150.0]))] if dice.random() < 0.8 else [],
        spools=spools,
        jobs=[_job(dice, f"J{number}", materials) for number in range(8)],
        under_way=UnderWay(tuple(a_dryer_run(f"u{s}", (s,)) for s in begun), ()),
    )
    return _easier(dice, scenario) if seed % 2 else scenario
