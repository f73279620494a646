"""No valid plan is less late than the bound says, whoever made it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import permutations

import numpy as np
import pytest

from demo_fleet import generate
from scheduler.checking import check, costs
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.bound import Prices, climb
from scheduler.planning.construct import Base, Taste, construct, finish
from scheduler.planning.problem import make_task
from tests.planning.random_shops import random_shop


def bound_of(shop: Scenario) -> float:
    """The strongest bound, late hours."""
    return climb(Base(make_task(shop)))


def plan_of(shop: Scenario, seed: int, rounds: int) -> Plan:
    """A plan that passed the checker."""
    hashed, start = scenario_hash(shop), shop.site.plan_start
    plan = make_plan(shop, scenario_hash=hashed, made_at=start, seed=seed, rounds=rounds, chains=1)
    assert check(shop, plan, hashed) == ()
    return plan


def pressed(shop: Scenario) -> Scenario:
    """The shop with every job due a day earlier, so that most are late whatever is done."""
    day = timedelta(days=1)
    jobs = (replace(job, due=None if job.due is None else job.due - day) for job in shop.jobs)
    return replace(shop, jobs=tuple(jobs))


@pytest.mark.parametrize("first", range(1, 121, 40))
def test_random_shops_keep_to_their_bound(first: int) -> None:
    told = 0
    for seed in range(first, first + 40):
        shop = pressed(random_shop(seed)) if seed % 2 else random_shop(seed)
        plan = plan_of(shop, seed, 60)
        bound = bound_of(shop)
        assert bound <= costs(shop, plan).late_cost + 1e-6, seed
        told += bound > 0
    assert told > 10


def test_a_job_before_may_leave_its_heat_before_this_one_is_released() -> None:
    """So of a job released later the preheat is never counted as if the chamber were cold."""
    shop = pressed(random_shop(40133))
    assert bound_of(shop) <= costs(shop, plan_of(shop, 40133, 200)).late_cost


def test_any_prices_give_a_bound() -> None:
    dice = np.random.default_rng(4)
    for seed in range(301, 326):
        shop = pressed(random_shop(seed))
        prices = Prices(Base(make_task(shop)))
        late_min = 60.0 * costs(shop, plan_of(shop, seed, 60)).late_cost
        for scale in (0.1, 1.0, 5.0):
            price = scale * dice.random(prices.capacity.shape) * (dice.random(prices.capacity.shape) < 0.3)
            assert prices.look(price) <= late_min + 1e-3, seed


@pytest.mark.parametrize("seed", range(1, 5))
def test_every_order_of_a_tiny_shop_keeps_to_the_bound(seed: int) -> None:
    whole = pressed(generate("S", seed))
    free = [job for job in whole.jobs if job.progress is None and job.pinned is None and not job.same_lot_as]
    few = {job.id for job in free[:4]}
    shop = replace(whole, jobs=tuple(job for job in whole.jobs if job.id in few or job.progress is not None))
    task = make_task(shop)
    base, bound = Base(task), bound_of(shop)
    numbers = [task.names.jobs[job_id] for job_id in sorted(few)]
    tastes = (Taste(), Taste(finish=1.0, crowd=0.0, idle=0.0, effort=0.0, certificate=0.0))
    for order in permutations(numbers):
        for taste in tastes:
            state = construct(base, order, taste)
            assert state is not None
            plan = finish(base, state).plan(scenario_hash(shop), shop.site.plan_start, 0.0, 1, None)
            assert bound <= plan.late_cost + 1e-6


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_made_up_shops_are_bounded_far_better_than_job_by_job(seed: int) -> None:
    shop = generate("S", seed)
    prices = Prices(Base(make_task(shop)))
    alone, bound = prices.alone / 60, prices.climb()
    assert bound > 1.2 * alone
    assert bound <= plan_of(shop, 1, 3000).late_cost
    # The same task always climbs to the same prices.
    assert Prices(Base(make_task(shop))).climb() == bound


def test_slopes_are_those_of_the_blurred_bound() -> None:
    prices = Prices(Base(make_task(generate("S", 2))))
    dice = np.random.default_rng(1)
    price = dice.random(prices.capacity.shape)
    value, slope = prices.soft(price, 50.0)
    assert value <= prices.look(price)
    along = dice.normal(size=price.shape)
    step = 1e-5
    rise = (prices.soft(price + step * along, 50.0)[0] - prices.soft(price - step * along, 50.0)[0]) / (
        2 * step
    )
    assert rise == pytest.approx(float((slope * along).sum()), rel=1e-5)


def test_a_climb_ends_when_asked_and_keeps_what_it_has() -> None:
    prices = Prices(Base(make_task(generate("S", 2))))
    asked = iter([False] * 40 + [True] * 1000)
    told: list[float] = []
    bound = prices.climb(lambda: next(asked), told.append)
    assert told and told[-1] == bound > prices.alone / 60


def test_seconds_bring_the_stronger_bound_onto_the_plan() -> None:
    shop = generate("S", 2)
    hashed, start = scenario_hash(shop), shop.site.plan_start
    plan = make_plan(shop, scenario_hash=hashed, made_at=start, seconds=8.0)
    alone = Prices(Base(make_task(shop))).alone / 60
    assert plan.lower_bound is not None and alone < plan.lower_bound <= plan.late_cost
    assert check(shop, plan, hashed) == ()
