"""A day of random events on a made-up shop, planned anew after each, told event by event.

``python -m tests.bench.replanning M1 M2`` lets thirty things happen a day (a printer stops, a print
fails or takes longer, a spool gets wet or is empty, a rush job comes, somebody falls ill). After each the
rest is planned from the plan that stood and, beside it, freely from nothing (``--free``, seconds of these
plans; the same if not told). Printed for each event: seconds, the share of the jobs of both plans that
changed printer though theirs was not hit, late hours beside the free plans', jobs within the freeze
window that moved though they could have stayed, and breaches; then the day's sums.

``--dies 5`` instead lets one machine die for good, five times over, each time from the same plan.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.advance import advance
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.construct import Base
from scheduler.planning.problem import make_task
from scheduler.planning.replay import within_freeze
from scheduler.planning.situations import machine_down
from tests.bench.day_events import event

#: How long a machine that dies is away, hours: longer than any plan.
FOR_GOOD_H = 24 * 60
#: Seconds of the plan that stands before anything happens, beside those of a replan.
FIRST_TIMES = 5


@dataclass(frozen=True)
class Turn:
    """One event and the plan after it."""

    minute: int
    words: str
    seconds: float
    moved: float
    late_h: float
    free_late_h: tuple[float, ...]
    needless: int
    breaches: tuple[str, ...]


def moved_share(before: Plan, after: Plan, scenario: Scenario, hit: str | None) -> float:
    """Share of the jobs not yet begun, placed in both plans, that left a printer that was not hit."""
    begun = {job.id for job in scenario.jobs if job.progress is not None}
    then = {job.job: job.printer for job in before.jobs}
    both = [job for job in after.jobs if job.job in then and job.job not in begun]
    return sum(job.printer != then[job.job] != hit for job in both) / max(1, len(both))


def moved_needlessly(before: Plan, after: Plan, scenario: Scenario) -> list[str]:
    """Jobs within the freeze window that moved though they could stay, beside begun and pinned work."""
    task = make_task(scenario, before)
    state, numbers = Base(task, before).state(), task.names
    now = {job.job: job for job in after.jobs}
    out = []
    for planned in before.jobs:
        j = numbers.jobs.get(planned.job, -1)
        if j < 0 or scenario.jobs[j].progress is not None or not within_freeze(task, planned):
            continue
        at = scenario.site.minute(planned.steps[2].start)
        could = state.printer[j] == numbers.printers.get(planned.printer, -2) and state.begin[j] == at
        there = now.get(planned.job)
        if could and (
            there is None or (there.printer, there.steps[2]) != (planned.printer, planned.steps[2])
        ):
            out.append(planned.job)
    return out


def replanned(
    shop: Scenario, plan: Plan, words: str, minute: int, hit: str | None, seconds: float, free: list[float]
) -> tuple[Turn, Plan]:
    """The shop planned anew from the plan that stood, and freely beside it."""
    hashed, now = scenario_hash(shop), shop.site.plan_start
    began = time.monotonic()
    again = make_plan(shop, scenario_hash=hashed, made_at=now, seconds=seconds, previous=plan)
    spent = time.monotonic() - began
    breaches = [str(breach) for breach in check(shop, again, hashed)]
    lost = {job.id for job in shop.jobs} - {job.job for job in (*again.jobs, *again.unplaced)}
    breaches += [f"job {job} is lost" for job in sorted(lost)]
    late = [make_plan(shop, scenario_hash=hashed, made_at=now, seconds=s).late_cost for s in free]
    turn = Turn(
        minute,
        words,
        spent,
        moved_share(plan, again, shop, hit),
        again.late_cost,
        tuple(late),
        len(moved_needlessly(plan, again, shop)),
        tuple(breaches),
    )
    return turn, again


def lived(scenario: Scenario, seed: int, events: int, seconds: float, free: list[float]) -> Iterator[Turn]:
    """One day of the shop, event by event."""
    rng, start = random.Random(seed), scenario.site.plan_start
    hashed = scenario_hash(scenario)
    plan = make_plan(scenario, scenario_hash=hashed, made_at=start, seconds=FIRST_TIMES * seconds)
    for minute in sorted(rng.sample(range(10, 24 * 60), events)):
        found = event(advance(scenario, plan, start + timedelta(minutes=minute)), rng)
        scenario = found.shop
        turn, plan = replanned(scenario, plan, found.words, minute, found.printer, seconds, free)
        yield turn


def deaths(scenario: Scenario, seed: int, count: int, seconds: float, free: list[float]) -> Iterator[Turn]:
    """Machines with work that die for good, each alone, an hour into the same plan."""
    rng, start = random.Random(seed), scenario.site.plan_start
    hashed, now = scenario_hash(scenario), start + timedelta(hours=1)
    first_s = max([FIRST_TIMES * seconds, *free])
    plan = make_plan(scenario, scenario_hash=hashed, made_at=start, seconds=first_s)
    later = advance(scenario, plan, now)
    busy = sorted({job.printer for job in plan.jobs if job.steps[0].start > now})
    for printer in sorted(rng.sample(busy, min(count, len(busy)))):
        held = sum(job.printer == printer and job.steps[0].start > now for job in plan.jobs)
        words = f"{printer} dies, {held} jobs to come on it"
        shop = machine_down(later, printer, FOR_GOOD_H)
        yield replanned(shop, plan, words, 60, printer, seconds, free)[0]


def line(turn: Turn) -> str:
    """An event as a row."""
    clock = f"{turn.minute // 60:02}:{turn.minute % 60:02}"
    free = " ".join(f"{late:9.1f}" for late in turn.free_late_h)
    figures = f"{turn.seconds:6.2f} {100 * turn.moved:7.1f} {turn.late_h:9.1f} {free}"
    return f"{clock} {turn.words:44} {figures} {turn.needless:8} {len(turn.breaches):8}"


def sums(shop: str, turns: list[Turn]) -> str:
    """The day in one row, the figures' names beside them."""
    count = max(1, len(turns))
    late = sum(turn.late_h for turn in turns)
    free = [sum(turn.free_late_h[k] for turn in turns) for k in range(len(turns[0].free_late_h))]
    beside = ", ".join(f"{hours:.1f} ({late / hours - 1:+.1%})" if hours else "0.0" for hours in free)
    return (
        f"{shop} {len(turns)} events: mean {sum(turn.seconds for turn in turns) / count:.2f} s, slowest "
        f"{max(turn.seconds for turn in turns):.2f} s; moved on other machines mean "
        f"{100 * sum(turn.moved for turn in turns) / count:.1f} %, "
        f"most {100 * max(turn.moved for turn in turns):.1f} %; "
        f"late hours {late:.1f} beside free {beside}; frozen moved needlessly "
        f"{sum(turn.needless for turn in turns)}; breaches {sum(len(turn.breaches) for turn in turns)}"
    )


def main(arguments: list[str] | None = None) -> int:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("shops", nargs="+", help="M1, S2, ...")
    parser.add_argument("--events", type=int, default=30)
    parser.add_argument("--seconds", type=float, default=1.5, help="of each replan's search")
    parser.add_argument("--free", type=float, nargs="+", help="seconds of the free plans beside it")
    parser.add_argument("--dies", type=int, metavar="MACHINES", help="let so many machines die instead")
    asked = parser.parse_args(arguments)
    free = asked.free or [asked.seconds]
    compiled_kernels()
    broken = 0
    for shop in asked.shops:
        found = re.fullmatch(r"(S|M|L|XL)(\d+)", shop)
        if found is None:
            parser.error(f"{shop} is no made-up shop; S1, M2, L1 are")
        scenario, seed = generate(found[1], int(found[2])), int(found[2])
        names = " ".join(f"{f'free {s:g} s':>9}" for s in free)
        print(
            f"{'clock what':50} {'s':>6} {'moved %':>7} {'late h':>9} {names} needless breaches", flush=True
        )
        if asked.dies:
            turns = deaths(scenario, seed, asked.dies, asked.seconds, free)
        else:
            turns = lived(scenario, seed, asked.events, asked.seconds, free)
        told = []
        for turn in turns:
            told.append(turn)
            print(line(turn), flush=True)
            for breach in turn.breaches:
                print(f"  {breach}", flush=True)
            broken += len(turn.breaches)
        if told:
            print(sums(shop, told), flush=True)
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
