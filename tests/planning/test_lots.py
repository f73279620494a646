"""Lots of jobs that few machines can do, and filament that is not enough for all: the bound counts both."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import permutations, product

import numpy as np
import pytest

from demo_fleet import generate
from scheduler.checking import check, costs
from scheduler.model import Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.bound import Prices, climb
from scheduler.planning.bound.alone import eased_state
from scheduler.planning.bound.narrow import Narrows
from scheduler.planning.bound.subsets import ByMinute, OnMachine, least_cost
from scheduler.planning.bound.supply import Supply, most_feeds
from scheduler.planning.construct import Base
from scheduler.planning.kernel.tables import NEVER
from scheduler.planning.problem import make_task
from tests.planning.random_shops import random_shop

MINUTES = 40


def table(dice: np.random.Generator, from_minute: int) -> ByMinute:
    """A job that takes some minutes, only begins at some, and costs more the later."""
    begins = np.sort(dice.choice(np.arange(from_minute, MINUTES), 8, replace=False))
    over = np.append(begins + dice.integers(2, 9), NEVER)
    cost = np.append(np.cumsum(dice.random(8) * 5), 0.0)
    at = np.searchsorted(begins, np.arange(MINUTES + 1))
    return over[at], cost[at]


def by_hand(machines: list[OnMachine], left_out: list[float], scarce: int) -> float:
    """The least cost, every way looked at."""
    n, best = len(left_out), np.inf
    for where in product(range(-1, len(machines)), repeat=n):
        for spared in product((False, True), repeat=n):
            taken = sum(
                where[j] >= 0 and not spared[j] and machines[where[j]].spared[j] is not None for j in range(n)
            )
            if taken > scarce:
                continue
            cost = sum(left_out[j] for j in range(n) if where[j] < 0)
            for m, machine in enumerate(machines):
                mine = [j for j in range(n) if where[j] == m]
                least = np.inf
                for order in permutations(mine):
                    time, spent = 0, 0.0
                    for j in order:
                        over, paid = (machine.spared[j] if spared[j] else None) or machine.of[j]
                        spent += float(paid[min(time, MINUTES)])
                        time = int(over[min(time, MINUTES)])
                        if time >= NEVER:
                            spent = np.inf
                    least = min(least, spent)
                cost += least
            best = min(best, cost)
    return float(best)


@pytest.mark.parametrize("seed", range(12))
def test_every_order_on_every_machine_is_looked_at(seed: int) -> None:
    dice = np.random.default_rng(seed)
    n, scarce = 4, int(dice.integers(0, 3))
    machines = []
    for _ in range(int(dice.integers(1, 3))):
        spared = [table(dice, 14) if dice.random() < 0.6 else None for _ in range(n)]
        machines.append(OnMachine([table(dice, 0) for _ in range(n)], spared))
    if seed % 3 == 0:
        machines.append(machines[0])
    left_out = [float(cost) for cost in dice.random(n) * 60]
    least = least_cost(machines, left_out, scarce, sum(left_out))
    assert least == pytest.approx(by_hand(machines, left_out, scarce), abs=1e-9)


def test_a_cost_that_can_be_had_cuts_nothing_short() -> None:
    dice = np.random.default_rng(3)
    machines = [OnMachine([table(dice, 0) for _ in range(5)], [None] * 5) for _ in range(2)]
    left_out = [30.0] * 5
    least = least_cost(machines, left_out, 0, sum(left_out))
    assert least is not None and least < sum(left_out)
    assert least_cost(machines, left_out, 0, least + 1e-9) == pytest.approx(least)


def test_a_spool_serves_so_many_feeds() -> None:
    assert most_feeds([120.0, 120.0], 180.0) == 1
    assert most_feeds([300.0, 60.0, 60.0, 60.0], 180.0) == 3
    assert most_feeds([60.0], 59.0) == 0


def short_of_filament(shop: Scenario) -> Scenario:
    """The shop with a third of what every spool holds, and every other spool a day away."""
    tomorrow = shop.site.plan_start + timedelta(days=1)
    spools = tuple(
        replace(
            spool,
            grams=spool.grams / 3,
            available_from=max(spool.available_from, tomorrow) if number % 2 else spool.available_from,
        )
        for number, spool in enumerate(shop.spools)
    )
    return replace(shop, spools=spools)


def late_hours(shop: Scenario, rounds: int) -> float:
    """Of a plan that passed the checker."""
    hashed, start = scenario_hash(shop), shop.site.plan_start
    plan = make_plan(shop, scenario_hash=hashed, made_at=start, seed=1, rounds=rounds, chains=1)
    assert check(shop, plan, hashed) == ()
    return costs(shop, plan).late_cost


def test_shops_short_of_filament_keep_to_their_bound() -> None:
    higher = 0
    for seed in range(501, 561):
        shop = random_shop(seed, able=True)
        if any(job.progress is not None for job in shop.jobs):
            continue
        shop = short_of_filament(shop)
        bound = climb(Base(make_task(shop)))
        assert bound <= late_hours(shop, 100) + 1e-6, seed
        higher += bound > Prices(Base(make_task(shop))).alone / 60 + 1e-6
    assert higher >= 10


def test_a_shelf_that_holds_too_little_makes_jobs_wait_for_the_next() -> None:
    """M1 has 260 g of one filament, for two of thirteen jobs at most; the rest comes on the second day."""
    task = make_task(generate("M", 1))
    P, prices = task.problem, Prices(Base(task))
    supply = Supply(P, eased_state(task))
    short = [shelf for shelf in supply.shelves if not shelf.ample and shelf.grams == 260.0]
    assert (2, (260.0,)) in [(shelf.feeds, shelf.each_g) for shelf in short]
    lot = max(Narrows(prices).find(prices.free()), key=lambda lot: lot.gain)
    assert len(lot.jobs) == 13 and lot.printers == (1, 5, 9, 13)
    # In plans of some minutes' search, with people without number too, these jobs have 113.1 late hours.
    assert 112.0 < lot.gain / 60 < 113.1


def test_filament_that_comes_late_has_its_price() -> None:
    """S9 has 31 late hours by machines alone; ten minutes of search found 175.85."""
    prices = Prices(Base(make_task(generate("S", 9))))
    assert 150.0 < prices.climb() <= 175.86
    paid = prices.price[-2 * len(prices.supply.shelves) :]
    short = [not shelf.ample for shelf in prices.supply.shelves] * 2
    assert paid.any() and not paid[~np.array(short)].any()


@pytest.mark.parametrize(("seed", "least", "known"), [(1, 291.0, 301.19), (6, 75.5, 76.31)])
def test_lots_on_few_machines_leave_little_doubt(seed: int, least: float, known: float) -> None:
    """Ten minutes of search found ``known`` late hours for these."""
    task = make_task(generate("S", seed))
    bound = climb(Base(task))
    assert least < bound <= known
    assert bound > Prices(Base(task)).climb() + 1.0


def test_lots_have_no_job_in_common_and_stop_when_asked() -> None:
    prices = Prices(Base(make_task(generate("S", 1))))
    lots = Narrows(prices).find(prices.free())
    jobs = [j for lot in lots for j in lot.jobs]
    assert len(lots) > 1 and len(jobs) == len(set(jobs))
    assert Narrows(prices).find(prices.free(), lambda: True) == []
    # What was found before it was asked to stop counts.
    asked = iter([False] * 4 + [True] * 1000)
    assert 0 < len(Narrows(prices).find(prices.free(), lambda: next(asked))) < len(lots)
