"""Random days on the floor, planned anew as they go: ``python -m tests.floor.days --shops 200``.

People touch, slip, undo and send twice; the shop is planned anew three times. Prints how many touches and
plans there were, and each breach with the seed that makes it again; exit code 1 if there was one.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from scheduler.checking import check
from scheduler.model.codec import scenario_hash, scenario_offences
from scheduler.office.floor import rebuilt
from scheduler.office.shop import scenario_now
from scheduler.planning import make_plan
from scheduler.store import Record
from tests.floor.life import Hands, on_two_machines
from tests.planning.random_shops import random_shop

PLANS = 3


def live_through(seed: int, folder: Path) -> tuple[Counter[str], int, list[str]]:
    """What was taken, how many plans were made, and a line for each breach."""
    scenario, rng = random_shop(seed), random.Random(seed)
    if not scenario.jobs or not scenario.spools:
        return Counter(), 0, []
    record = Record(f"sqlite:///{folder / f'{seed}.sqlite3'}")
    record.migrate()
    start = scenario.site.plan_start
    plan = make_plan(scenario, scenario_hash=scenario_hash(scenario), made_at=start)
    with record.writing() as unit:
        unit.fleet.replace(scenario)
        unit.plans.publish(unit.plans.add(plan))
    hands = Hands(record, rng, start)
    made, lines = 0, []
    for _ in range(PLANS):
        hands.work(rng.randrange(60, 700))
        now = scenario_now(record, lambda: hands.now)
        offences = scenario_offences(now)
        lines += [f"seed {seed}: the shop of {hands.now} is none: {offence}" for offence in offences[:3]]
        if offences or not now.jobs:
            break
        hashed = scenario_hash(now)
        plan = make_plan(now, scenario_hash=hashed, made_at=hands.now, previous=plan)
        made += 1
        lines += [f"seed {seed}: {breach}" for breach in check(now, plan, hashed)]
        lost = {job.id for job in now.jobs} - {job.job for job in (*plan.jobs, *plan.unplaced)}
        lines += [f"seed {seed}: job {job} is lost" for job in sorted(lost)]
        with record.writing() as unit:
            number = unit.plans.add(plan, planned_from=now.site.plan_start)
            unit.plans.publish(number)
    with record.reading() as unit:
        touched, again = unit.floor.touched(), rebuilt(unit)
    lines += [f"seed {seed}: {line}" for line in on_two_machines(touched)]
    if dict(touched.things) != dict(again.things):
        for key in touched.things.keys() | again.things.keys():
            if touched.things.get(key) != again.things.get(key):
                lines.append(
                    f"seed {seed}: {key} is {touched.things.get(key)}, by events {again.things.get(key)}"
                )
                break
    record.close()
    return hands.taken, made, lines


def main() -> int:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shops", type=int, default=50)
    parser.add_argument("--first", type=int, default=1)
    asked = parser.parse_args()
    begun, taken, made, lines = time.monotonic(), Counter[str](), 0, []
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(asked.first, asked.first + asked.shops):
            some, plans, wrong = live_through(seed, Path(folder))
            taken += some
            made += plans
            lines += wrong
            for line in wrong:
                print(line)
    for kind, count in taken.most_common():
        print(f"{count:7d}  {kind}")
    print(
        f"{asked.shops} days, {sum(taken.values())} touches, {made} plans anew, {len(lines)} breaches,"
        f" {time.monotonic() - begun:.0f} s"
    )
    return 1 if lines else 0


if __name__ == "__main__":
    sys.exit(main())
