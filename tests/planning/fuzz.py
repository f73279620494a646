"""Plan random shops and judge the plans: ``python -m tests.planning.fuzz --shops 2000 --first 1``.

Prints how many shops, jobs and forced rules there were, and every breach with the seed that makes it
again; exit code 1 if there was one.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter

from scheduler.checking import check
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.compiled import compiled_kernels
from tests.planning.random_shops import random_shop


def judge(seed: int, rounds: int, able: bool = False) -> tuple[Counter[str], list[str]]:
    """Figures of one shop's plan, and a line for each breach."""
    scenario = random_shop(seed, able)
    hashed = scenario_hash(scenario)
    plan = make_plan(
        scenario,
        scenario_hash=hashed,
        made_at=scenario.site.plan_start,
        timer=lambda: 0.0,
        rounds=rounds or None,
        chains=1,
        seed=seed,
    )
    figures = Counter(shops=1, jobs=len(scenario.jobs), placed=len(plan.jobs), forced=len(plan.forced))
    lost = {job.id for job in scenario.jobs} - {job.job for job in plan.jobs}
    lost -= {job.job for job in plan.unplaced}
    lines = [f"seed {seed}: {breach}" for breach in check(scenario, plan, hashed)]
    lines += [f"seed {seed}: job {job} is lost" for job in sorted(lost)]
    return figures, lines


def main() -> int:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shops", type=int, default=500)
    parser.add_argument("--first", type=int, default=1, help="seed of the first shop")
    parser.add_argument("--rounds", type=int, default=60, help="rounds of the compiled search; 0: none")
    parser.add_argument("--able", action="store_true", help="larger shops in which nearly every job fits")
    asked = parser.parse_args()
    if asked.rounds:
        compiled_kernels()
    began, figures, broken = time.monotonic(), Counter[str](), 0
    for seed in range(asked.first, asked.first + asked.shops):
        found, lines = judge(seed, asked.rounds, asked.able)
        figures += found
        broken += len(lines)
        for line in lines:
            print(line, flush=True)
    words = ", ".join(f"{count} {name}" for name, count in figures.items())
    print(f"{words}, {broken} breaches, {time.monotonic() - began:.1f} s")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
