"""Half a year of promises in a made-up shop: ``python -m tests.bench.closed_loop --seeds 1 2 3``.

Orders come in by chance; each is put into the plan, the plan is carried out in forecast, and the order is
promised for the instant by which it is done with the chance asked for. Then the shop lives on, in
`tests.bench.closed_world`, which shares nothing with the forecast. Three shops for each seed: estimates
right on the average, estimates 15 % too short with learning off, and the same with learning on from a
given week.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from scheduler.model import Job, Plan, Scenario
from scheduler.planning import make_plan
from scheduler.planning.compiled import compiled_kernels
from scheduler.quoting.applied import Corrected, corrected
from scheduler.quoting.forecast import forecast
from scheduler.quoting.kept import wilson
from scheduler.quoting.learning import learn
from scheduler.quoting.records import PromiseRecord
from scheduler.quoting.variation import Variation
from tests.bench.closed_world import BEGIN, DAY, Nature, World, an_order

WEEK = 7 * DAY
#: Customers who would have to wait longer go elsewhere.
PATIENCE = 10 * DAY
#: Orders come Monday to Friday between these hours.
OPEN_H = (8, 17)


@dataclass(frozen=True)
class Setting:
    """One experiment: what the shop is like, and from which week on it learns (``None``: never)."""

    name: str
    bias: float
    learns_from: int | None


SETTINGS = (
    Setting("estimates right, learning on", 1.0, 0),
    Setting("15 % bias, learning off", 1.15, None),
    Setting("15 % bias, learning on from week 9", 1.15, 8),
)


class Desk:
    """Promises, and plans again when something has happened."""

    def __init__(self, world: World, setting: Setting, chance: float) -> None:
        self.world, self.setting, self.chance = world, setting, chance
        self.promised: dict[str, tuple[int, int]] = {}
        self.longest_s = 0.0
        self.declined = 0

    def shop(self, extra: tuple[Job, ...] = ()) -> Corrected:
        """The shop as its books have it, with what is believed of it this minute."""
        begins, scenario = self.setting.learns_from, self.world.scenario(extra)
        if begins is None or self.world.now < begins * WEEK:
            return Corrected(scenario, Variation())
        return corrected(scenario, learn(self.world.records, scenario.site.plan_start))

    def plan(self, scenario: Scenario) -> Plan:
        return make_plan(
            scenario,
            scenario_hash="0" * 64,
            made_at=scenario.site.plan_start,
            previous=self.world.plan,
            timer=lambda: 0.0,
            chains=1,
        )

    def replan(self) -> None:
        """A plan for what is waiting, near to the last one."""
        if self.world.waiting:
            self.world.publish(self.plan(self.shop().scenario))

    def quote(self, job: Job, number: int) -> None:
        """Promise a job and take it in, if the customer will wait so long."""
        world, began = self.world, time.perf_counter()
        shop = self.shop((job,))
        scenario, plan = shop.scenario, self.plan(shop.scenario)
        found = forecast(scenario, plan, shop.variation, seed=number)
        self.longest_s = max(self.longest_s, time.perf_counter() - began)
        due = found.promise((job.id,), self.chance) if job.id in found.jobs else None
        if due is None or due > scenario.site.instant(PATIENCE):
            self.declined += 1
            return
        self.promised[job.id] = (world.now, int((due - BEGIN) / timedelta(minutes=1)))
        world.waiting[job.id] = replace(job, due=due)
        world.publish(plan)


def lived(seed: int, setting: Setting, weeks: int, per_week: float, chance: float) -> Desk:
    """One shop for so many weeks; promises near the end are awaited."""
    world = World(seed, Nature(bias=setting.bias))
    desk = Desk(world, setting, chance)
    dice = np.random.default_rng([seed, 5])
    number = 0
    while world.now < weeks * WEEK:
        number += 1
        world.run(_next_order(world.now, per_week, dice), desk.replan)
        desk.quote(an_order(number, dice), number)
    world.run(max(due for _, due in desk.promised.values()) + 1, desk.replan)
    return desk


def _next_order(now: int, per_week: float, dice: np.random.Generator) -> int:
    """The minute at which the next customer calls: by chance, while somebody answers."""
    open_min = (OPEN_H[1] - OPEN_H[0]) * 60
    wait = dice.exponential(5 * open_min / per_week)
    day, minute = divmod(now, DAY)
    minute = min(max(minute - OPEN_H[0] * 60, 0), open_min)
    if day % 7 >= 5:
        day, minute = day + 7 - day % 7, 0
    minute += max(1, round(wait))
    while minute >= open_min:
        minute -= open_min
        day += 1 if day % 7 < 4 else 3
    return day * DAY + OPEN_H[0] * 60 + int(minute)


def records(desk: Desk) -> list[tuple[int, PromiseRecord]]:
    """Promises with the week in which each was given."""
    world = desk.world
    return [
        (
            asked // WEEK,
            PromiseRecord(
                desk.chance,
                world.instant(asked),
                world.instant(due),
                world.instant(world.done[id]) if id in world.done else None,
            ),
        )
        for id, (asked, due) in desk.promised.items()
    ]


def tell(desk: Desk, weeks: int) -> tuple[int, int]:
    """Print how often promises were kept, by stretches of four weeks; kept and given."""
    world, given = desk.world, records(desk)
    fates = [(week, bool(promise.kept(world.instant(world.now)))) for week, promise in given]
    parts = []
    for first in range(0, weeks, 4):
        part = [kept for week, kept in fates if first <= week < first + 4]
        parts.append(f"{100 * np.mean(part):3.0f}" if part else "  -")
    begins = desk.setting.learns_from
    if begins:
        later = [kept for week, kept in fates if week >= begins + 4]
        parts.append(f"(four weeks after learning began: {100 * np.mean(later):.1f} %)" if later else "")
    kept, count = sum(kept for _, kept in fates), len(fates)
    low, high = wilson(kept, count)
    print(
        f"  kept {100 * kept / count:5.1f} % of {count} ({100 * low:.1f} to {100 * high:.1f});"
        f" weeks by fours: {' '.join(parts)};"
        f" {desk.declined} declined; {100 * _busy(world):.0f} % of machine time printing;"
        f" slowest quote {desk.longest_s:.2f} s",
        flush=True,
    )
    return kept, count


def _busy(world: World) -> float:
    printed = sum(record.actual_min for record in world.records)
    return float(printed / (world.now * len(world.machines)))


def main(arguments: list[str] | None = None) -> None:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, nargs="*", default=[1, 2, 3])
    parser.add_argument("--weeks", type=int, default=26)
    parser.add_argument("--per-week", type=float, default=60.0, help="orders")
    parser.add_argument("--chance", type=float, default=0.8)
    parser.add_argument("--setting", type=int, help="only the n-th of the three, from 0")
    asked = parser.parse_args(arguments)
    compiled_kernels()
    for index, setting in enumerate(SETTINGS):
        if asked.setting is not None and index != asked.setting:
            continue
        print(f"{setting.name}: promised at {100 * asked.chance:.0f} %")
        kept, count = 0, 0
        for seed in asked.seeds:
            print(f"  seed {seed}:", end="", flush=True)
            one = tell(lived(seed, setting, asked.weeks, asked.per_week, asked.chance), asked.weeks)
            kept, count = kept + one[0], count + one[1]
        print(f"  all seeds: kept {100 * kept / count:.1f} % of {count}")


if __name__ == "__main__":
    main()
