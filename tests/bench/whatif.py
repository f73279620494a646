"""Seconds of trials, as a table: ``python -m tests.bench.whatif S1 M1 L1 --seconds 4``.

For each shop: a plan, then for its latest free jobs what would save them and what other machines would
cost, and three situations (the busiest machine down for a day, a person less, a rush job); beside it what
comparing the plans takes. Times of one core, the search compiled.
"""

from __future__ import annotations

import argparse
import re
import statistics
import time
from collections import Counter

from demo_fleet import generate
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.moves import moves
from scheduler.planning.situations import machine_down, outcome, person_less, rush_job
from scheduler.planning.whatif import other_machines, what_would_save


def main() -> None:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("shops", nargs="+", help="size and seed, as S1 or M3")
    parser.add_argument("--seconds", type=float, default=4.0, help="for each plan")
    parser.add_argument("--jobs", type=int, default=3, help="late jobs tried in each shop")
    asked = parser.parse_args()
    compiled_kernels()
    print("| shop | jobs | question | seconds | trials | outcome |\n|---|---|---|---|---|---|")
    for shop in asked.shops:
        found = re.fullmatch(r"(S|M|L|XL)(\d+)", shop)
        if found is None:
            parser.error(f"{shop} is no size and seed, as S1 or M3")
        scenario = generate(found[1], int(found[2]))
        plan = make_plan(
            scenario,
            scenario_hash=scenario_hash(scenario),
            made_at=scenario.site.plan_start,
            seconds=asked.seconds,
        )
        _jobs(shop, scenario, plan, asked.jobs)
        _situations(shop, scenario, plan)


def _jobs(shop: str, scenario: Scenario, plan: Plan, most: int) -> None:
    free = {job.id for job in scenario.jobs if job.progress is None and job.pinned is None}
    late = sorted((one for one in plan.jobs if one.job in free), key=lambda one: -one.late_min)[:most]
    for words, ask in (("what would save it", what_would_save), ("other machines", other_machines)):
        tried = [ask(scenario, plan, one.job) for one in late]
        seconds = statistics.median(one.seconds for one in tried)
        trials = statistics.mean(len(one.trials) for one in tried)
        saved = sum(any(trial.saves for trial in one.trials) for one in tried)
        told = f"{saved} of {len(tried)} late jobs saved by a trial"
        print(
            f"| {shop} | {len(scenario.jobs)} | {words} | {seconds:.2f} | {trials:.1f} | {told} |", flush=True
        )


def _situations(shop: str, scenario: Scenario, plan: Plan) -> None:
    busiest = Counter(one.printer for one in plan.jobs).most_common(1)[0][0]
    heaviest = max(scenario.jobs, key=lambda job: job.weight)
    for words, changed in (
        (f"{busiest} down 24 h", machine_down(scenario, busiest, 24)),
        ("a person less", person_less(scenario, 0)),
        ("a rush job", rush_job(scenario, heaviest.id, 48, heaviest.weight)[0]),
    ):
        found = outcome(scenario, plan, changed)
        told = (
            f"{len(found.found.moves)} move; {found.late_h_before:.1f} → {found.late_h_after:.1f} late hours"
        )
        print(f"| {shop} | {len(scenario.jobs)} | {words} | {found.seconds:.2f} | 2 | {told} |", flush=True)
    began = time.perf_counter()
    moves(scenario, plan, scenario, plan)
    took = time.perf_counter() - began
    print(f"| {shop} | {len(scenario.jobs)} | comparing two plans | {took:.3f} | – | – |", flush=True)


if __name__ == "__main__":
    main()
