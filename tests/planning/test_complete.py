"""Tiny shops solved to the end by a general solver: bounds lie under its optimum, plans never under it.

The solver's model (`tests.bench.complete`) shares figures with the planner but none of its decoder or search,
and its plans are judged by the checker. It needs the extra ``bench``.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.bound import climb
from scheduler.planning.construct import Base
from scheduler.planning.problem import make_task
from tests.planning.random_shops import random_shop
from tests.planning.test_bound import pressed
from tests.services import bench_installed

#: Seconds after which a shop counts as unsolved; far more than any of these takes on a quiet core.
SECONDS = 120.0


def small(shop: Scenario, most: int) -> Scenario:
    """The shop with its work under way and so many other jobs, due a day earlier."""
    free = [job.id for job in shop.jobs if job.progress is None and job.pinned is None][:most]
    kept = {job.id for job in shop.jobs if job.progress is not None} | set(free)
    jobs = tuple(
        replace(job, same_lot_as=job.same_lot_as if job.same_lot_as in kept else None)
        for job in shop.jobs
        if job.id in kept
    )
    return pressed(replace(shop, jobs=jobs))


def best(shop: Scenario) -> Plan:
    """The solver's best plan, proven and judged."""
    from tests.bench.complete import by_complete_solver

    hashed = scenario_hash(shop)
    answer = by_complete_solver(shop, hashed, shop.site.plan_start, SECONDS, exact=True)
    assert answer.proven and answer.plan is not None, answer.status
    assert check(shop, answer.plan, hashed) == ()
    return answer.plan


def ours(shop: Scenario, rounds: int) -> Plan:
    """The planner's plan."""
    hashed, start = scenario_hash(shop), shop.site.plan_start
    return make_plan(shop, scenario_hash=hashed, made_at=start, seed=1, rounds=rounds, chains=1)


def bound(shop: Scenario) -> float:
    """The strongest bound, late hours."""
    return climb(Base(make_task(shop)))


def found_by_model(shop: Scenario, plan: Plan) -> bool:
    """Whether the solver's narrower model has such plans: no job lacks time, no spool has own recipes."""
    lacking = {reason.check for one in plan.unplaced for reason in one.reasons}
    return "horizon" not in lacking and all(spool.drying is None for spool in shop.spools)


def test_random_tiny_shops_lie_between_bound_and_plan() -> None:
    bench_installed()
    late = solved = 0
    for seed in range(1, 101):
        shop = small(random_shop(seed), 5)
        if not shop.jobs:
            continue
        plan = ours(shop, 300)
        if not found_by_model(shop, plan):
            continue
        least = best(shop).late_cost
        assert bound(shop) <= least + 1e-6, seed
        assert least <= plan.late_cost + 1e-6, seed
        solved += 1
        late += least > 0
    assert solved >= 15 and late >= 8


@pytest.mark.parametrize("seed", [9, 55])
def test_a_job_may_stay_where_another_machine_would_suit_it_better(seed: int) -> None:
    """So the quicker one is left to another job, though this one has the hands first."""
    bench_installed()
    shop = small(random_shop(seed, able=True), 5)
    assert ours(shop, 5000).late_cost == pytest.approx(best(shop).late_cost, abs=1e-6)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_few_jobs_of_made_up_shops_lie_between_bound_and_plan(seed: int) -> None:
    bench_installed()
    shop = small(generate("S", seed), 5)
    plan, least = ours(shop, 1000), best(shop).late_cost
    assert bound(shop) <= least + 1e-6 and 0 < least <= plan.late_cost + 1e-6


def test_a_larger_shop_in_coarse_minutes_is_judged_good() -> None:
    bench_installed()
    from tests.bench.complete import by_complete_solver

    shop = small(generate("S", 4), 8)
    hashed, start = scenario_hash(shop), shop.site.plan_start
    # Begun with a plan, seconds are enough to have one, on a busy machine too.
    answer = by_complete_solver(shop, hashed, start, 20.0, hint=ours(shop, 100))
    assert answer.plan is not None and check(shop, answer.plan, hashed) == ()
    assert answer.plan.late_cost >= bound(shop) - 1e-6
