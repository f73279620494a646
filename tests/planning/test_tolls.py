"""Jobs that could go elsewhere leave dear machine hours to those that can't."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from demo_fleet import demo_shop, generate
from scheduler.model import Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.bound.prices import Prices, is_small
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.construct import Base
from scheduler.planning.engine import Engine, ready_state
from scheduler.planning.kernel import search
from scheduler.planning.kernel.choose import place_best
from scheduler.planning.kernel.score import TOLL, paid_by, toll_edges
from scheduler.planning.kernel.tables import PRICED, TOLL_MIN
from scheduler.planning.ladder import FEW, FEW_JOBS, FEW_JOURNAL, SELDOM, Ladder
from scheduler.planning.orders import orders
from scheduler.planning.problem import make_task
from scheduler.planning.state import empty_state
from tests.builders import a_job, a_printer, a_scenario, a_spool, at
from tests.planning.test_planner import plan_of


def begun(engine: Engine) -> Engine:
    """The search with a first plan."""
    order, taste = orders(engine.task)[0]
    pool = engine.construct(order, taste, lambda placed: False)
    assert pool is not None
    engine.begin(pool)
    return engine


def in_use(engine: Engine) -> list[float]:
    """Each plan's chance that jobs pay."""
    return [float(chain.pool.real[chain.tune_at + search.TOLLS]) for chain in engine._made]


def two_machines() -> Scenario:
    """P1 is a little quicker; J2 is too large for P2, J1 is not."""
    return a_scenario(
        printers=(
            a_printer("P1", volume_mm=(500.0, 500.0, 500.0)),
            a_printer("P2", volume_mm=(300.0, 300.0, 300.0), speed_factor=1.2),
        ),
        spools=(a_spool("s1"), a_spool("s2")),
        jobs=(
            a_job("J1", print_min=400, due=at(2000)),
            a_job("J2", print_min=400, size_mm=(450.0, 450.0, 100.0), due=at(560)),
        ),
    )


def test_minutes_cost_by_the_half_hour() -> None:
    task = make_task(two_machines())
    P, S = task.problem, ready_state(Base(task))
    n = toll_edges(P)
    assert len(S.toll) == 2 * n and TOLL_MIN == 30
    S.toll[:] = [0.0, 3.0, 4.0] + [4.0] * (n - 3) + [0.0] * (n - 1) + [7.0]
    assert [paid_by(P, S, 0, minute) for minute in (-5, 0, 10, 30, 45, 60, 10**6)] == pytest.approx(
        [0.0, 0.0, 1.0, 3.0, 3.5, 4.0, 4.0]
    )
    assert paid_by(P, S, 1, 10**6) == 7.0


def test_what_is_paid_is_the_sum_of_the_minutes_prices() -> None:
    prices = Prices(Base(make_task(generate("S", 3))))
    dice = np.random.default_rng(3)
    prices.price = dice.random(prices.capacity.shape)
    paid = prices.paid_before([0, 30, 600, 10**7])
    assert paid.shape == (prices.P.printers, 4)
    by_row = prices.price[: len(prices.shop.rows) * prices.buckets].reshape(-1, prices.buckets)
    for p in range(prices.P.printers):
        row = by_row[prices.shop.row_of[p]]
        assert paid[p].tolist() == pytest.approx(
            [0.0, prices.bucket * row[0], prices.bucket * row[:20].sum(), prices.bucket * row.sum()]
        )


def test_a_job_that_could_go_elsewhere_leaves_a_dear_machine_alone() -> None:
    task = make_task(two_machines())
    prices = Prices(Base(task))
    prices.climb()
    edges = [TOLL_MIN * k for k in range(toll_edges(task.problem))]
    first = task.names.jobs["J1"]
    went = []
    for part in (0.0, 1.0):
        S = ready_state(Base(task))
        S.toll[:] = (prices.paid_before(edges) / 60.0).ravel().tolist()
        S.weights[:5] = [0.05, 0.0, 0.0, 0.0, 0.5]
        S.weights[TOLL] = part
        assert place_best(task.problem, S, first, S.weights, 2, 1, 0) == 1
        went.append(task.scenario.printers[S.printer[first]].id)
    assert went == ["P1", "P2"]


def test_a_search_pays_once_there_are_prices() -> None:
    base = Base(make_task(generate("S", 7)))
    ladder = begun(Ladder(base, compiled_kernels(), 1, 1, FEW, FEW_JOURNAL))
    prices = Prices(base)
    # None, or none that says anything: nothing changes.
    ladder.heed(None)
    ladder.heed(prices)
    assert set(in_use(ladder)) == {0.0}
    prices.climb()
    ladder.heed(prices)
    assert in_use(ladder) == [FEW.tolls, FEW.tolls, FEW.tolls, SELDOM]
    at_, n = ladder._made[0].pool.spans["S", "toll"]
    written = ladder._made[0].pool.real[at_ : at_ + n]
    assert written.max() > 1.0
    # The same prices are not written twice; better ones are.
    written[:] = 0.0
    ladder.heed(prices)
    assert not written.any()
    prices.price = prices.price * 2.0
    ladder.heed(prices)
    assert written.max() > 2.0


def test_a_small_shop_is_planned_with_prices_whether_or_not_a_bound_runs_beside(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    heeded: list[float] = []
    heed = Ladder.heed

    def noted(self: Ladder, prices: Prices | None) -> None:
        heed(self, prices)
        heeded.append(max(in_use(self)))

    monkeypatch.setattr(Ladder, "heed", noted)
    shop = generate("S", 6)
    plan_of(shop, rounds=40)
    assert heeded[0] == FEW.tolls
    heeded.clear()
    make_plan(shop, scenario_hash=scenario_hash(shop), made_at=shop.site.plan_start, seconds=6.0)
    assert heeded[0] == 0.0 and heeded[-1] == FEW.tolls


def test_a_short_search_of_a_larger_shop_has_no_time_for_prices(monkeypatch: pytest.MonkeyPatch) -> None:
    given: list[Prices | None] = []
    monkeypatch.setattr(Engine, "heed", lambda self, prices: given.append(prices))
    shop = demo_shop(date(2026, 11, 28))
    assert len(shop.jobs) > FEW_JOBS and is_small(make_task(shop).problem)
    plan_of(shop, rounds=20)
    assert given and set(given) == {None}


def test_in_a_large_shop_there_is_no_room_for_prices() -> None:
    P = make_task(two_machines()).problem
    few, many = P._replace(jobs=PRICED // 2), P._replace(jobs=PRICED // 2 + 1)
    assert len(empty_state(few, []).toll) == 2 * toll_edges(P)
    assert empty_state(many, []).toll == []
    # Nor does a search without prices ask for any.
    assert in_use(begun(Engine(Base(make_task(two_machines())), compiled_kernels(), 1, 1))) == [0.0]
