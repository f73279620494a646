"""A day of random events on a made-up shop, planned anew after each, as a table.

``python -m tests.bench.replanning M1 M2`` breaks something thirty times a day (a printer or a dryer stops,
a spool gets wet, a print takes longer, a person less), and plans the rest from the plan that stood and,
beside it, freely from nothing, with the same seconds. Printed for each shop: seconds, the share of the
jobs of both plans that changed printer, late hours beside the free plan's, and breaches.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import time
from dataclasses import dataclass, field
from datetime import timedelta

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash, scenario_offences
from scheduler.planning import make_plan
from scheduler.planning.advance import advance
from scheduler.planning.compiled import compiled_kernels
from tests.planning.days import disturbed


@dataclass
class Day:
    """What one day showed."""

    spent_s: list[float] = field(default_factory=list)
    moved: list[float] = field(default_factory=list)
    late_h: float = 0.0
    free_late_h: float = 0.0
    breaches: list[str] = field(default_factory=list)


def moved_share(before: Plan, after: Plan, scenario: Scenario) -> float:
    """Share of the jobs not yet begun, placed in both plans, that are on another printer now."""
    begun = {job.id for job in scenario.jobs if job.progress is not None}
    then = {job.job: job.printer for job in before.jobs}
    both = [job for job in after.jobs if job.job in then and job.job not in begun]
    return sum(job.printer != then[job.job] for job in both) / max(1, len(both))


def lived(scenario: Scenario, seed: int, events: int, seconds: float) -> Day:
    """One day of the shop."""
    rng, day = random.Random(seed), Day()
    start = scenario.site.plan_start
    minutes = sorted(rng.sample(range(10, 24 * 60), events))
    plan = make_plan(scenario, scenario_hash=scenario_hash(scenario), made_at=start, seconds=3 * seconds)
    for minute in minutes:
        now = start + timedelta(minutes=minute)
        scenario = advance(scenario, plan, now)
        hit = disturbed(scenario, rng)
        # Some events describe a shop that no file could, such as a stop within a begun step.
        scenario = scenario if scenario_offences(hit) else hit
        hashed, began = scenario_hash(scenario), time.monotonic()
        again = make_plan(scenario, scenario_hash=hashed, made_at=now, seconds=seconds, previous=plan)
        day.spent_s.append(time.monotonic() - began)
        day.breaches += [str(breach) for breach in check(scenario, again, hashed)]
        lost = {job.id for job in scenario.jobs} - {job.job for job in (*again.jobs, *again.unplaced)}
        day.breaches += [f"job {job} is lost" for job in sorted(lost)]
        free = make_plan(scenario, scenario_hash=hashed, made_at=now, seconds=seconds)
        day.moved.append(moved_share(plan, again, scenario))
        day.late_h += again.late_cost
        day.free_late_h += free.late_cost
        plan = again
    return day


def main(arguments: list[str] | None = None) -> int:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("shops", nargs="+", help="M1, S2, ...")
    parser.add_argument("--events", type=int, default=30)
    parser.add_argument("--seconds", type=float, default=2.0)
    asked = parser.parse_args(arguments)
    compiled_kernels()
    print("shop events mean-s slowest-s moved-mean moved-most late-h free-late-h breaches")
    broken = 0
    for shop in asked.shops:
        found = re.fullmatch(r"(S|M|L|XL)(\d+)", shop)
        if found is None:
            parser.error(f"{shop} is no made-up shop; S1, M2, L1 are")
        day = lived(generate(found[1], int(found[2])), int(found[2]), asked.events, asked.seconds)
        count = len(day.spent_s)
        spent = f"{sum(day.spent_s) / count:.2f} {max(day.spent_s):.2f}"
        moved = f"{sum(day.moved) / count:.3f} {max(day.moved):.3f}"
        late = f"{day.late_h:.1f} {day.free_late_h:.1f}"
        print(f"{shop} {count} {spent} {moved} {late} {len(day.breaches)}", flush=True)
        for breach in day.breaches:
            print(f"  {breach}")
        broken += len(day.breaches)
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
