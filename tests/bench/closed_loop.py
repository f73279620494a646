"""Half a year of promises in a made-up shop: ``python -m tests.bench.closed_loop --seeds 1 2 3``.

Orders come in by chance and are quoted, offered and accepted by the quote desk itself, on a record of its
own (`tests.bench.closed_desk`). Then the shop lives on, in `tests.bench.closed_world`, which shares nothing
with the forecast. Three shops for each seed: estimates right on the average, estimates 15 % too short with
what was learnt set aside, and the same with dates that follow it, from an empty record on.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from scheduler.office.quotes.promises import lessons
from scheduler.planning.compiled import compiled_kernels
from scheduler.quoting.kept import wilson
from scheduler.store import Record
from tests.bench.closed_desk import WEEK, Desk, Setting
from tests.bench.closed_world import DAY, Nature, World, an_order

#: Orders come Monday to Friday between these hours.
OPEN_H = (8, 17)
#: Kept shares are told by stretches of so many weeks.
STRETCH = 4
MEMORY = Path("/dev/shm")

SETTINGS = (
    Setting("estimates right, learning on", 1.0, True),
    Setting("prints take 15 % longer, learning off", 1.15, False),
    Setting("prints take 15 % longer, learning on", 1.15, True),
)


@contextmanager
def lived(seed: int, setting: Setting, weeks: int, per_week: float, chance: float) -> Iterator[Desk]:
    """One shop for so many weeks; promises near the end are awaited."""
    # In memory where the system has such a folder: the figures are of promises, not of disks.
    with tempfile.TemporaryDirectory(dir=MEMORY if MEMORY.is_dir() else None) as folder:
        record = Record(f"sqlite:///{Path(folder) / 'shop.sqlite3'}")
        record.migrate()
        try:
            desk = Desk(World(seed, Nature(bias=setting.bias)), record, setting, chance)
            _live(desk, seed, weeks, per_week)
            yield desk
        finally:
            record.close()


def _live(desk: Desk, seed: int, weeks: int, per_week: float) -> None:
    world, dice, told = desk.world, np.random.default_rng([seed, 5]), 0
    number = 0
    desk.replan()
    while world.now < weeks * WEEK:
        number += 1
        world.run(_next_order(world.now, per_week, dice), desk.replan)
        desk.quote(an_order(number, dice))
        if world.now // (STRETCH * WEEK) > told:
            told = world.now // (STRETCH * WEEK)
            so_far = [kept for _, kept in fates(desk, decided=True)]
            share = f", kept {100 * np.mean(so_far):.0f} % of {len(so_far)}" if so_far else ""
            print(f" [{told * STRETCH}{share}]", end="", flush=True)
    print(flush=True)
    world.run(max(due for _, due in desk.promised.values()) + 1, desk.replan)
    desk.end()


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


def fates(desk: Desk, decided: bool = False) -> list[tuple[int, bool]]:
    """Of each promise the week in which it was given, and whether it was kept, by the world's books.

    Parameters
    ----------
    decided : bool
        Only of those whose date has come.
    """
    done = {id.rsplit("-", 1)[0]: minute for id, minute in desk.world.done.items()}
    return [
        (asked // WEEK, order in done and done[order] <= due)
        for order, (asked, due) in desk.promised.items()
        if not decided or due <= desk.world.now
    ]


def tell(desk: Desk, weeks: int) -> list[tuple[int, bool]]:
    """Print how often promises were kept, by stretches of weeks; the fates.

    Raises
    ------
    AssertionError
        If the desk's own record counts otherwise than the world.
    """
    world, given = desk.world, fates(desk)
    rates = lessons(desk.record, desk.clock).rates
    own = (sum(rate.kept for rate in rates), sum(rate.decided for rate in rates))
    if own != (sum(kept for _, kept in given), len(given)):
        raise AssertionError(f"the desk's record counts {own}, the world {len(given)} promises")
    parts = []
    for first in range(0, weeks, STRETCH):
        part = [kept for week, kept in given if first <= week < first + STRETCH]
        parts.append(f"{100 * np.mean(part):3.0f}" if part else "  -")
    print(
        f"    {_share(given)}; from week 5 on {_share([one for one in given if one[0] >= STRETCH])};"
        f" by fours: {' '.join(parts)}\n"
        f"    {desk.declined} would not wait, {desk.no_place} found no place;"
        f" {100 * _busy(world):.0f} % of machine time printing; processor seconds of a quote until it is an"
        f" order: {np.median(desk.seconds):.2f} in the middle, {max(desk.seconds):.2f} at most",
        flush=True,
    )
    return given


def _share(given: list[tuple[int, bool]]) -> str:
    kept, count = sum(kept for _, kept in given), len(given)
    if count == 0:
        return "none given"
    low, high = wilson(kept, count)
    return f"kept {100 * kept / count:.1f} % of {count} ({100 * low:.1f} to {100 * high:.1f})"


def _busy(world: World) -> float:
    printed = sum(record.actual_min for _, record in world.records)
    return float(printed / (world.now * len(world.machines)))


def main(arguments: list[str] | None = None) -> None:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, nargs="*", default=[1, 2, 3])
    parser.add_argument("--weeks", type=int, default=26)
    parser.add_argument("--per-week", type=float, default=36.0, help="orders")
    parser.add_argument("--chance", type=float, default=0.8)
    parser.add_argument("--setting", type=int, help="only the n-th of the three, from 0")
    asked = parser.parse_args(arguments)
    compiled_kernels()
    for index, setting in enumerate(SETTINGS):
        if asked.setting is not None and index != asked.setting:
            continue
        print(f"{setting.name}: promised at {100 * asked.chance:.0f} %")
        every: list[tuple[int, bool]] = []
        for seed in asked.seeds:
            began = time.perf_counter()
            print(f"  seed {seed}, weeks lived:", end="", flush=True)
            with lived(seed, setting, asked.weeks, asked.per_week, asked.chance) as desk:
                every += tell(desk, asked.weeks)
            print(f"    {time.perf_counter() - began:.0f} s", flush=True)
        later = [one for one in every if one[0] >= STRETCH]
        print(f"  all seeds: {_share(every)}; from week 5 on {_share(later)}")


if __name__ == "__main__":
    main()
