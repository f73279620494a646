"""Random days of random shops, replanned after each event: ``python -m tests.planning.days --shops 700``.

An event is a machine or a dryer down, a person less, a wet spool, or a print longer than estimated. Prints
how many plans were made, and every breach with the seed that makes it again; exit code 1 if there was one.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from dataclasses import replace
from datetime import timedelta

from scheduler.checking import check
from scheduler.model import Downtime, Scenario
from scheduler.model.codec import scenario_hash, scenario_offences
from scheduler.planning import make_plan
from scheduler.planning.advance import advance
from tests.planning.random_shops import random_shop

#: Events of one day.
EVENTS = 3


def disturbed(scenario: Scenario, rng: random.Random) -> Scenario:
    """The shop after one event at its plan's start."""
    now = scenario.site.plan_start
    stop = Downtime(now, now + timedelta(minutes=rng.randrange(60, 3000)), "broken")
    kind = rng.randrange(5)
    if kind == 0 and scenario.printers:
        hit = rng.randrange(len(scenario.printers))
        printers = list(scenario.printers)
        printers[hit] = replace(printers[hit], downtime=(*printers[hit].downtime, stop))
        return replace(scenario, printers=tuple(printers))
    if kind == 1 and scenario.dryers:
        hit = rng.randrange(len(scenario.dryers))
        dryers = list(scenario.dryers)
        dryers[hit] = replace(dryers[hit], downtime=(*dryers[hit].downtime, stop))
        return replace(scenario, dryers=tuple(dryers))
    if kind == 2 and scenario.spools:
        hit = rng.randrange(len(scenario.spools))
        spools = list(scenario.spools)
        spools[hit] = replace(spools[hit], dried=False, exposed_min=0)
        return replace(scenario, spools=tuple(spools))
    if kind == 3 and scenario.jobs:
        hit = rng.randrange(len(scenario.jobs))
        jobs = list(scenario.jobs)
        if jobs[hit].progress is None:
            jobs[hit] = replace(jobs[hit], print_min=int(1.5 * jobs[hit].print_min) + 1)
        return replace(scenario, jobs=tuple(jobs))
    shifts = tuple(replace(shift, hands=max(1, shift.hands - 1)) for shift in scenario.shifts)
    return replace(scenario, shifts=shifts)


def live_through(seed: int, able: bool = False) -> tuple[int, list[str]]:
    """How many times the shop was planned anew, and a line for each breach."""
    scenario, rng = random_shop(seed, able), random.Random(seed)
    start = scenario.site.plan_start
    plan = make_plan(scenario, scenario_hash=scenario_hash(scenario), made_at=start)
    made, lines = 0, []
    for _ in range(EVENTS):
        now = scenario.site.plan_start + timedelta(minutes=rng.randrange(30, 900))
        scenario = disturbed(advance(scenario, plan, now), rng)
        # Hit by its event, a shop may have ended, or be one that no file could describe.
        if not scenario.jobs or scenario_offences(scenario):
            break
        hashed = scenario_hash(scenario)
        plan = make_plan(scenario, scenario_hash=hashed, made_at=now, previous=plan)
        made += 1
        lines += [f"seed {seed}: {breach}" for breach in check(scenario, plan, hashed)]
        lost = {job.id for job in scenario.jobs} - {job.job for job in (*plan.jobs, *plan.unplaced)}
        lines += [f"seed {seed}: job {job} is lost" for job in sorted(lost)]
    return made, lines


def main() -> int:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shops", type=int, default=200)
    parser.add_argument("--first", type=int, default=1, help="seed of the first shop")
    parser.add_argument("--able", action="store_true", help="larger shops in which nearly every job fits")
    asked = parser.parse_args()
    began, plans, broken = time.monotonic(), 0, 0
    for seed in range(asked.first, asked.first + asked.shops):
        made, lines = live_through(seed, asked.able)
        plans += made
        broken += len(lines)
        for line in lines:
            print(line, flush=True)
    print(f"{asked.shops} days, {plans} plans anew, {broken} breaches, {time.monotonic() - began:.1f} s")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
