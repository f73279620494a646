"""New jobs put into plans that stand, as tables: ``python -m tests.bench.insertion``.

First random requests to planned shops: how many find a place, how many breaches the checker tells, how
many promised jobs are later than promised, and seconds for the date alone. Then the quantiles on the
largest shop; every fifth new job of a smaller one is also made earlier by moving others, and judged so.
Last the lead time beside planning the whole shop anew with the new jobs and no wish but
theirs to be early, for ``--replan-seconds`` each, counted only where that breaks no promise. Milliseconds
are those of the clock on the wall; "cpu" are those at work, which say more where others share the machine.
"""

from __future__ import annotations

import argparse
import re
import statistics
import time
from dataclasses import replace

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.insert import insert, promises
from scheduler.planning.tighten import tighten
from scheduler.quoting.forecast import forecast
from tests.requests import random_request

#: In larger fleets a plan that leaves a new job out, of which nothing is ever stored, is not judged: the
#: checker looks for a place of its own in every minute of every machine, which takes minutes there.
JUDGED_WHOLE = 100


def planned(shop: str, seconds: float) -> tuple[Scenario, Plan]:
    """A made-up shop and its plan."""
    found = re.fullmatch(r"(S|M|L)(\d+)", shop)
    assert found is not None, shop
    scenario = generate(found[1], int(found[2]))
    return scenario, _anew(scenario, seconds, None)


def _anew(scenario: Scenario, seconds: float, previous: Plan | None) -> Plan:
    return make_plan(
        scenario,
        scenario_hash=scenario_hash(scenario),
        made_at=scenario.site.plan_start,
        seconds=seconds,
        previous=previous,
    )


def _share(values: list[float], part: float) -> float:
    return sorted(values)[min(len(values) - 1, int(part * len(values)))]


def requests(shop: str, scenario: Scenario, plan: Plan, count: int) -> None:
    """A line about many requests."""
    took: list[float] = []
    worked: list[float] = []
    placed = breaches = harmed = 0
    for seed in range(count):
        jobs, spools = random_request(scenario, seed)
        began, at_work = time.perf_counter(), time.process_time()
        found = insert(scenario, plan, jobs, spools=spools)
        took.append(time.perf_counter() - began)
        worked.append(1000 * (time.process_time() - at_work))
        placed += found.whole
        if not found.whole and len(scenario.printers) > JUDGED_WHOLE:
            continue
        if seed % 5 == 0:
            found = tighten(found)
        hashed = scenario_hash(found.scenario)
        after = found.plan(hashed, scenario.site.plan_start)
        breaches += len(check(found.scenario, after, hashed))
        now = {job.job: job.done for job in after.jobs}
        harmed += sum(id not in now or now[id] > by for id, by in promises(scenario, plan).items())
    ms = [1000 * seconds for seconds in took]
    print(
        f"{shop:<5}{len(scenario.printers):>9}{len(plan.jobs):>6}{count:>10}{placed:>8}{breaches:>10}{harmed:>8}"
        f"{statistics.median(ms):>9.0f}{_share(ms, 0.95):>9.0f}{max(ms):>9.0f}"
        f"{statistics.median(worked):>9.0f}{_share(worked, 0.95):>9.0f}",
        flush=True,
    )


def quantiles(shop: str, scenario: Scenario, plan: Plan, count: int) -> None:
    """A line about the date with its quantiles."""
    took, worked = [], []
    for seed in range(count + 1):
        jobs, spools = random_request(scenario, seed)
        began, at_work = time.perf_counter(), time.process_time()
        found = insert(scenario, plan, jobs, spools=spools)
        after = found.plan("", scenario.site.plan_start)
        forecast(found.scenario, after, replications=200).finishes(list(found.done) or [after.jobs[0].job])
        took.append(1000 * (time.perf_counter() - began))
        worked.append(1000 * (time.process_time() - at_work))
    ms, worked = took[1:], worked[1:]  # the first loads the machine code
    print(
        f"{shop:<5}{count:>10}{statistics.median(ms):>9.0f}{_share(ms, 0.95):>9.0f}{max(ms):>9.0f}"
        f"{statistics.median(worked):>9.0f}{_share(worked, 0.95):>9.0f}",
        flush=True,
    )


def lead_times(shop: str, scenario: Scenario, plan: Plan, count: int, seconds: float) -> None:
    """A line about lead times beside planning anew."""
    ours: list[float] = []
    tights: list[float] = []
    theirs: list[float] = []
    took: list[float] = []
    seed = 0
    start = scenario.site.plan_start
    broken = 0
    while len(ours) < count and seed < 5 * count:
        seed += 1
        jobs, spools = random_request(scenario, seed)
        found = insert(scenario, plan, jobs, spools=spools)
        if not found.whole:
            continue
        began = time.perf_counter()
        tight = tighten(found)
        took.append(time.perf_counter() - began)
        wish = tuple(replace(job, due=max(job.release, start), weight=0.5) for job in jobs)
        promised = promises(scenario, plan)
        # Whoever is promised something weighs so much that it is not given up for an earlier date.
        held = tuple(
            replace(job, due=promised.get(job.id), weight=20.0 * max(1.0, job.weight))
            for job in scenario.jobs
        )
        whole = replace(scenario, jobs=(*held, *wish), spools=(*scenario.spools, *spools))
        anew = {job.job: job.done for job in _anew(whole, seconds, plan).jobs}
        if any(id not in anew or anew[id] > by for id, by in promised.items()):
            broken += 1
            continue
        if any(job.id not in anew for job in jobs):
            continue
        ours.append(max((found.date - start).total_seconds() / 3600, 0.1))
        tights.append(max((tight.date - start).total_seconds() / 3600, 0.1))
        theirs.append(max((max(anew[job.id] for job in jobs) - start).total_seconds() / 3600, 0.1))
    print(
        f"{shop:<5}{len(ours):>9}{broken:>16}{statistics.mean(ours):>11.1f}{statistics.mean(tights):>12.1f}"
        f"{statistics.mean(theirs):>10.1f}{100 * (sum(tights) / sum(theirs) - 1):>9.1f} %"
        f"{1000 * statistics.mean(took):>9.0f}",
        flush=True,
    )


def main(arguments: list[str] | None = None) -> None:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=1000)
    parser.add_argument("--large", type=int, default=100, help="requests to the largest shop")
    parser.add_argument("--replans", type=int, default=20)
    parser.add_argument("--replan-seconds", type=float, default=4.0)
    parser.add_argument("--skip-small", action="store_true", help="only L, then the lead times")
    parser.add_argument("--seconds", type=float, default=5.0, help="of planning each shop first")
    asked = parser.parse_args(arguments)
    compiled_kernels()
    small = () if asked.skip_small and not asked.replans else ("S1", "M1")
    shops = {shop: planned(shop, asked.seconds) for shop in (*small, "L1")}
    print(
        "shop  printers  jobs  requests  placed  breaches  harmed  p50 ms   p95 ms  worst ms"
        "  cpu p50  cpu p95"
    )
    for shop, (scenario, plan) in shops.items():
        if asked.skip_small and shop[0] != "L":
            continue
        requests(shop, scenario, plan, asked.large if shop[0] == "L" else asked.requests)
    print(
        "\nwith quantiles of 200 replications\nshop   requests   p50 ms   p95 ms worst ms  cpu p50  cpu p95"
    )
    quantiles("L1", *shops["L1"], min(asked.large, 40))
    if not asked.replans:
        return
    print(
        "\nlead time beside planning anew\nshop  requests  promises broken  inserted h  tightened h"
        "    anew h  longer by  tighten ms"
    )
    for shop in ("S1", "M1"):
        lead_times(shop, *shops[shop], asked.replans, asked.replan_seconds)


if __name__ == "__main__":
    main()
