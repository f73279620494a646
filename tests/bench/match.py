"""How long the matcher takes: `python -m tests.bench.match [--printers N --jobs M]`.

Makes its own shop: print times, plate sizes and draws differ from job to job, speeds and thermal
figures from printer to printer, so that hardly two share a class; about one job in twelve fits
nothing and asks for its verdict.
"""

from __future__ import annotations

import argparse
import random
import resource
import time
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.matching import Matcher
from scheduler.model import Anneal, Feed, Head, Job, Material, Printer, Scenario, Span, Spool
from tests.builders import (
    a_dryer,
    a_drying_row,
    a_feed,
    a_head,
    a_job,
    a_material,
    a_nozzle,
    a_printer,
    a_scenario,
    a_shift,
    a_spool,
    an_oven,
)

DEFAULT_SIZES = ((8, 40), (40, 200), (200, 1_000), (2_000, 20_000))
BORES_MM = (0.25, 0.4, 0.6, 0.8)
TAGS = ("food", "flame", "lot")


@dataclass(frozen=True, slots=True)
class Timing:
    """One row of the table: sizes, seconds for each part, peak memory of the process so far."""

    printers: int
    jobs: int
    made_s: float
    fitting_s: float
    verdicts_s: float
    unfit: int
    fitting_share: float
    peak_mib: float


def _materials(dice: random.Random) -> list[Material]:
    materials = []
    for number in range(13):
        heat = number / 12
        chamber_lo = 10 + 120 * heat
        materials.append(
            a_material(
                f"M{number:02}",
                nozzle_c=Span(190 + 180 * heat, 240 + 190 * heat),
                bed_c=Span(30 + 100 * heat, 70 + 100 * heat),
                chamber_c=Span(chamber_lo, chamber_lo + 60),
                chamber_set_c=chamber_lo + 25,
                surfaces=dice.choice([(), ("glass", "sheet"), ("sheet",)]),
                abrasive=number % 3 == 0,
                corrosive=number % 7 == 3,
                needs_extraction=number % 4 == 1,
                min_nozzle_mm=dice.choice([0.25, 0.4]),
                drying=() if number % 5 == 0 else (a_drying_row(60 + 80 * heat, 4),),
                open_time_min=dice.choice([None, 600, 1_400]),
                soak_min=round(60 * heat),
                release_c=50 + 40 * heat,
                max_cool_c_per_min=dice.choice([None, 0.5, 1.0]),
                anneal=Anneal(100 + 80 * heat, 3) if number % 2 else None,
            )
        )
    return materials


def _head(dice: random.Random, name: str, max_c: float) -> Head:
    bores = dice.sample(BORES_MM, dice.randint(2, 3))
    nozzles = tuple(
        a_nozzle(f"n{bore}", bore, hardened=dice.random() < 0.7, corrosion_proof=dice.random() < 0.6)
        for bore in bores
    )
    return a_head(name, max_c=max_c, dry_feed=dice.random() < 0.4, nozzles=nozzles)


def _printer(dice: random.Random, number: int) -> Printer:
    heat = dice.choice([0.1, 0.4, 0.7, 1.0])
    heads = [_head(dice, f"H{place}", 260 + 190 * heat) for place in range(dice.choice([1, 1, 2]))]
    chamber_max_c = None if heat < 0.2 else round(40 + 150 * heat + dice.uniform(0, 10), 1)
    return a_printer(
        f"P{number:04}",
        bed_max_c=round(60 + 110 * heat),
        chamber_max_c=chamber_max_c,
        chamber_reach_c=None if chamber_max_c is None else chamber_max_c + 25,
        cool_tau_min=round(dice.uniform(30, 90), 2),
        bed_heat_min=dice.randint(8, 25),
        volume_mm=tuple(float(dice.randint(200, 500)) for _ in range(3)),
        surfaces=dice.choice([("sheet",), ("glass",), ("glass", "sheet")]),
        extraction=dice.random() < 0.7,
        unattended=dice.random() < 0.6,
        speed_factor=round(dice.uniform(0.7, 1.6), 3),
        qualified=tuple(tag for tag in TAGS if dice.random() < 0.5),
        heads=tuple(heads),
    )


def _spool(dice: random.Random, number: int) -> Spool:
    return a_spool(
        f"s{number}",
        f"M{dice.randrange(13):02}",
        grams=float(dice.randint(100, 2_000)),
        body_max_c=dice.choice([80.0, 110.0, 200.0]),
        certs=("lot",) if dice.random() < 0.3 else (),
        dried=dice.random() < 0.3,
        exposed_min=dice.randint(0, 900),
    )


def _feed(dice: random.Random, number: int) -> Feed:
    bores = tuple(sorted(dice.sample(BORES_MM, dice.randint(1, 2))))
    certs = ("lot",) if dice.random() < 0.2 else ()
    return a_feed(f"M{number:02}", grams=float(dice.randint(20, 1_800)), nozzle_mm=bores, certs=certs)


def _job(dice: random.Random, number: int) -> Job:
    first = dice.randrange(13)
    feeds = [_feed(dice, first)]
    if dice.random() < 0.2:
        feeds.append(_feed(dice, min(12, max(0, first + dice.choice([-1, 0, 1])))))
    return a_job(
        f"J{number:05}",
        print_min=dice.randint(20, 2_400),
        size_mm=tuple(float(dice.randint(20, 420)) for _ in range(3)),
        needs_qualified=tuple(tag for tag in TAGS if dice.random() < 0.1),
        anneal=first % 2 == 1 and dice.random() < 0.3,
        feeds=tuple(feeds),
    )


def a_big_shop(printers: int, jobs: int, seed: int = 1) -> Scenario:
    """A shop of any size whose jobs and printers differ in almost every figure."""
    dice = random.Random(seed)
    return a_scenario(
        shifts=[a_shift(day * 1_440, day * 1_440 + 960) for day in range(10)],
        materials=_materials(dice),
        printers=[_printer(dice, number) for number in range(printers)],
        dryers=[a_dryer("D1", max_c=150.0), a_dryer("D2", max_c=90.0, kind="rolling", fixed_c=60.0)],
        ovens=[an_oven(max_c=170.0)],
        spools=[_spool(dice, number) for number in range(max(40, jobs // 4))],
        jobs=[_job(dice, number) for number in range(jobs)],
    )


def measure(printers: int, jobs: int, seed: int = 1) -> Timing:
    """Match every job of a big shop, then ask for the verdict of each job that nothing fits."""
    scenario = a_big_shop(printers, jobs, seed)
    clock = time.perf_counter
    began = clock()
    matcher = Matcher(scenario)
    made = clock()
    fitting = 0
    unfit = []
    for job in scenario.jobs:
        found = len(matcher.fitting_printers(job.id))
        fitting += found
        if not found:
            unfit.append(job.id)
    matched = clock()
    for job_id in unfit:
        matcher.verdict(job_id)
    done = clock()
    peak_mib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    share = fitting / (printers * jobs)
    return Timing(printers, jobs, made - began, matched - made, done - matched, len(unfit), share, peak_mib)


def table(timings: Sequence[Timing]) -> str:
    """The measured rows as a table."""
    lines = [
        f"{'printers':>8} {'jobs':>7} {'made s':>8} {'fitting s':>10} {'verdicts s':>11} "
        f"{'unfit':>6} {'pairs fit':>9} {'peak MiB':>9}"
    ]
    lines += [
        f"{t.printers:>8,} {t.jobs:>7,} {t.made_s:>8.2f} {t.fitting_s:>10.2f} {t.verdicts_s:>11.2f} "
        f"{t.unfit:>6,} {t.fitting_share:>9.1%} {t.peak_mib:>9.0f}"
        for t in timings
    ]
    return "\n".join(lines)


def main() -> None:
    """Measure the sizes asked for, smallest first, and print the table."""
    parser = argparse.ArgumentParser(description="Time the matcher.")
    parser.add_argument("--printers", type=int, help="so many printers, instead of the four usual sizes")
    parser.add_argument("--jobs", type=int, help="so many jobs (default: ten times the printers)")
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    sizes = DEFAULT_SIZES
    if chosen.printers:
        sizes = ((chosen.printers, chosen.jobs or 10 * chosen.printers),)
    print(table([measure(printers, jobs, chosen.seed) for printers, jobs in sizes]))


if __name__ == "__main__":
    main()
