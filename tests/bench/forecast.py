"""Seconds of a forecast on made-up shops, as a table: ``python -m tests.bench.forecast S1 M1 L1``.

Each shop is planned first, apart from the figures. ``first`` is the first forecast of the process, with
the machine code loaded from its cache (or compiled, once on a machine); the others are the median of
``--turns`` forecasts. ``nominal`` counts jobs that a replay without chance does not end at the plan's minute.
"""

from __future__ import annotations

import argparse
import re
import statistics
import time
from datetime import date

from demo_fleet import demo_shop, generate
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.compiled import compiled_kernels
from scheduler.quoting.forecast import forecast
from scheduler.quoting.variation import NONE


def main(arguments: list[str] | None = None) -> None:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("shops", nargs="*", default=["demo", "S1", "M1", "L1"])
    parser.add_argument("--replications", type=int, default=200)
    parser.add_argument("--turns", type=int, default=5)
    parser.add_argument("--seconds", type=float, default=5.0, help="of planning before the forecast")
    asked = parser.parse_args(arguments)
    compiled_kernels()
    print("shop  printers  jobs  replications  first s  median s  worst s  nominal off")
    for shop in asked.shops:
        found = re.fullmatch(r"(S|M|L|XL)(\d+)", shop)
        scenario = generate(found[1], int(found[2])) if found else demo_shop(date(2031, 3, 3))
        start = scenario.site.plan_start
        plan = make_plan(
            scenario, scenario_hash=scenario_hash(scenario), made_at=start, seconds=asked.seconds
        )
        took = []
        for turn in range(asked.turns + 1):
            began = time.perf_counter()
            forecast(scenario, plan, replications=asked.replications, seed=turn + 1).of_orders()
            took.append(time.perf_counter() - began)
        nominal = forecast(scenario, plan, NONE, replications=1)
        done = {planned.job: scenario.site.minute(planned.done) for planned in plan.jobs}
        off = sum(
            done[job] != minute for job, minute in zip(nominal.jobs, nominal.minutes[0].tolist(), strict=True)
        )
        print(
            f"{shop:<5} {len(scenario.printers):>8} {len(plan.jobs):>5} {asked.replications:>13}"
            f" {took[0]:>8.2f} {statistics.median(took[1:]):>9.3f} {max(took[1:]):>8.3f} {off:>12}",
            flush=True,
        )


if __name__ == "__main__":
    main()
