"""The compiled kernels do what the plain ones do, bit for bit."""

from __future__ import annotations

import pytest

from demo_fleet import generate
from scheduler.model import Scenario
from scheduler.planning.bound.prices import Prices
from scheduler.planning.compiled import Pool, compiled_kernels, plain_kernels, pool_of
from scheduler.planning.construct import Base, Taste
from scheduler.planning.engine import Engine, ready_state
from scheduler.planning.kernel import search
from scheduler.planning.kernel.alone import soonest_done
from scheduler.planning.kernel.row import place_row
from scheduler.planning.kernel.tables import SCRATCH_FIELDS, State
from scheduler.planning.orders import orders
from scheduler.planning.problem import Task, make_task
from tests.planning.random_shops import random_shop


def shop(name: str) -> Scenario:
    return generate("S", int(name[1:])) if name[0] == "S" else random_shop(int(name))


NAMES = ["S1", "S2", *(str(seed) for seed in range(40, 52))]


def begun(task: Task) -> tuple[Base, State]:
    base = Base(task)
    state = ready_state(base)
    order, taste = orders(task)[0]
    state.order[: len(order)] = order
    weights = taste.weights()
    state.weights[: len(weights)] = weights
    return base, state


def logged(state: State) -> dict[str, list[float]]:
    """The plan itself, without scratch."""
    return {
        name: list(values)
        for name, values in state._asdict().items()
        if name not in SCRATCH_FIELDS and name != "log"
    }


@pytest.mark.parametrize("name", NAMES)
def test_rows_are_placed_alike(name: str) -> None:
    task = make_task(shop(name))
    P = task.problem
    _, state = begun(task)
    pool = pool_of(P, state, 1 << 14)
    left = compiled_kernels().place_row(pool.whole, pool.real, 0, P.jobs, Taste().most, 1)
    assert left == place_row(P, state, 0, P.jobs, Taste().most, 1)
    assert logged(pool.state(state)) == logged(state)


@pytest.mark.parametrize("name", NAMES)
def test_search_goes_the_same_way_interpreted(name: str) -> None:
    task = make_task(shop(name))
    order, taste = orders(task)[0]
    engine = Engine(Base(task), compiled_kernels(), 7, 1)
    pool = engine.construct(order, taste, lambda placed: False)
    assert pool is not None
    engine.begin(pool)
    # Every other shop with prices on its machines' minutes, and with whims.
    if int(name[-1]) % 2 == 0:
        prices = Prices(engine.base)
        prices.climb()
        engine.heed(prices)
    rounds = 25 if name[0] == "S" else 60
    tune = pool.spans["S", "tune"][0]
    pool.real[tune + search.WHIMS] = 0.5 * (1 - int(name[-1]) % 2)
    pool.real[tune + search.SEATS] = 0.5
    pool.real[tune + search.HEAT_OF] = 500.0
    whole, real = pool.lists()
    compiled_kernels().improve(pool.whole, pool.real, rounds)
    plain_kernels().improve(whole, real, rounds)
    assert pool.whole.tolist() == whole
    assert pool.real.tolist() == real


def test_undo_takes_everything_back() -> None:
    task = make_task(shop("S3"))
    P = task.problem
    _, state = begun(task)
    pool, kernels = pool_of(P, state), compiled_kernels()
    kernels.place_row(pool.whole, pool.real, 0, P.jobs // 2, 24, 1)
    before = _plan(pool)
    kernels.mark(pool.whole, pool.real)
    kernels.place_row(pool.whole, pool.real, P.jobs // 2, P.jobs, 24, 1)
    assert _plan(pool) != before
    kernels.undo(pool.whole, pool.real)
    assert _plan(pool) == before


def _plan(pool: Pool) -> tuple[list[int], list[float]]:
    return pool.whole[pool.state_whole].tolist(), pool.real[pool.state_real].tolist()


@pytest.mark.parametrize("name", NAMES[:6])
def test_soonest_finish_is_the_same(name: str) -> None:
    task = make_task(shop(name))
    state = Base(task).begun_state()
    pool = pool_of(task.problem, state, 1 << 10)
    for j in range(task.problem.jobs):
        assert compiled_kernels().soonest_done(pool.whole, pool.real, j) == soonest_done(
            task.problem, state, j
        )
