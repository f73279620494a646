"""Plans at steady temperatures, and what they exchange."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from demo_fleet import generate
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.construct import Base
from scheduler.planning.kernel import search
from scheduler.planning.ladder import EACH, FEW, FEW_JOBS, FEW_JOURNAL, LAST, Ladder
from scheduler.planning.orders import orders
from scheduler.planning.problem import make_task
from tests.planning.test_planner import plan_of


def a_ladder(chains: int = 1) -> Ladder:
    """Plans of a made-up small shop, all the same."""
    base = Base(make_task(generate("S", 3)))
    ladder = Ladder(base, compiled_kernels(), 4, chains, FEW, FEW_JOURNAL)
    order, taste = orders(base.task)[0]
    pool = ladder.construct(order, taste, lambda placed: False)
    assert pool is not None
    ladder.begin(pool)
    return ladder


def costs(ladder: Ladder, *costs: float) -> list[int]:
    """Say what the plans cost; which plan stands where after an exchange at 400, 300, 200 and 100."""
    made = list(ladder._made)
    for chain, cost in zip(made, costs, strict=True):
        chain.pool.real[chain.told_at + search.NOW] = cost
    ladder.exchange([400.0, 300.0, 200.0, 100.0])
    return [[chain is one for one in made].index(True) for chain in ladder._made]


def test_the_better_plan_goes_where_it_is_cold() -> None:
    # From the hottest on, so that the best one goes all the way down in one exchange.
    assert costs(a_ladder(), 1000.0, 2000.0, 3000.0, 4000.0) == [1, 2, 3, 0]


def test_a_far_worse_plan_stays_where_it_is_hot() -> None:
    assert costs(a_ladder(), 9e6, 6e6, 3e6, 1e3) == [0, 1, 2, 3]


def test_a_little_worse_plan_goes_down_as_often_as_its_cost_has_it() -> None:
    # 600 minutes more at 1/100 - 1/200 a minute: exp(-3), one exchange in twenty.
    ladder, taken, tries = a_ladder(), 0, 4000
    for _ in range(tries):
        where = costs(ladder, 9e9, 6e9, 1600.0, 1000.0)
        taken += where[3] == 2
    assert 0.038 < taken / tries < 0.062


def test_the_best_of_each_core_cools_down_in_the_end() -> None:
    ladder = a_ladder(chains=2)
    assert len(ladder._made) == 2 * EACH
    for _ in range(20):
        ladder.step(0.3, 80)
    best = sorted(chain.best for chain in ladder._made)
    rounds = [chain.rounds for chain in ladder._made]
    assert min(rounds) == max(rounds) == 400
    ladder.step(1.0 - LAST / 2, 200)
    went_on = [chain for chain in ladder._made if chain.rounds == 600]
    assert len(went_on) == 2 and all(chain.best <= best[1] for chain in went_on)
    assert ladder.best <= best[0]


def test_small_shops_alone_are_searched_on_a_ladder_the_same_way_each_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    exchanges = 0
    exchange = Ladder.exchange

    def counted(self: Ladder, heats: Sequence[float]) -> None:
        nonlocal exchanges
        exchanges += 1
        exchange(self, heats)

    monkeypatch.setattr(Ladder, "exchange", counted)
    small, larger = generate("S", 6), generate("M", 6)
    assert len(small.jobs) <= FEW_JOBS < len(larger.jobs)
    first = plan_of(small, rounds=1200)
    assert exchanges > 50
    assert first == plan_of(small, rounds=1200)
    exchanges = 0
    plan_of(larger, rounds=100)
    # A plan that replaces another begins with that one, and stays near it.
    plan_of(small, rounds=100, previous=first)
    assert exchanges == 0
