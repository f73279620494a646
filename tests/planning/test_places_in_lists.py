"""No kernel reads or writes outside an array: compiled, that ends the process or spoils a plan unseen."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from demo_fleet import generate
from scheduler.model import Scenario
from scheduler.model.codec import scenario_hash, scenario_offences
from scheduler.planning import make_plan
from scheduler.planning.advance import advance
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.construct import Base, Taste
from scheduler.planning.engine import Engine, ready_state
from scheduler.planning.kernel.row import place_row
from scheduler.planning.kernel.score import soonest_unload
from scheduler.planning.kernel.search import HEAT_OF, SEATS, improve
from scheduler.planning.kernel.tables import Problem, State
from scheduler.planning.kernel.undo import Log, Logged
from scheduler.planning.orders import orders
from scheduler.planning.problem import make_task
from tests.planning.random_shops import random_shop


class Watched(Logged):
    """A list that counts neither from its end nor behind it."""

    def __getitem__(self, index: Any) -> Any:
        if not isinstance(index, slice) and not 0 <= index < len(self):
            raise IndexError(f"place {index} of {len(self)}")
        return super().__getitem__(index)

    def __setitem__(self, index: Any, value: Any) -> None:
        if not isinstance(index, slice) and not 0 <= index < len(self):
            raise IndexError(f"place {index} of {len(self)}")
        super().__setitem__(index, value)


def watched(P: Problem, S: State) -> tuple[Problem, State]:
    """Both with every list watched."""
    log = Log()
    problem, state = (
        made._replace(**{k: Watched(v, log) for k, v in made._asdict().items() if isinstance(v, list)})
        for made in (P, S)
    )
    return problem, state._replace(log=log)


def later(shop: Scenario, hours: float) -> Scenario:
    """The shop some hours into its plan, with work begun, printed, waiting for an oven."""
    start = shop.site.plan_start
    plan = make_plan(shop, scenario_hash=scenario_hash(shop), made_at=start, rounds=20, chains=1)
    return advance(shop, plan, start + timedelta(hours=hours))


def decoded(shop: Scenario, rounds: int) -> None:
    """Place the shop's jobs on watched lists and search on."""
    task = make_task(shop)
    order, taste = orders(task)[0]
    P, S = watched(task.problem, ready_state(Base(task)))
    S.order[: len(order)] = order
    S.weights[: len(taste.weights())] = taste.weights()
    place_row(P, S, 0, P.jobs, Taste().most, 1)
    place_row(P, S, 0, P.jobs, P.printers, 0)
    engine = Engine(Base(task), compiled_kernels(), 3, 1)
    pool = engine.construct(order, taste, lambda placed: False)
    assert pool is not None
    engine.begin(pool)
    P, S = watched(task.problem, pool.state(ready_state(Base(task))))
    S.tune[HEAT_OF] = 500.0
    S.tune[SEATS] = 0.5
    improve(P, S, rounds)


def test_random_shops_some_hours_on() -> None:
    tried = 0
    for seed in range(1, 21):
        shop = later(random_shop(seed), 3 + seed % 30)
        if shop.jobs and not scenario_offences(shop):
            decoded(shop, 8)
            tried += 1
    assert tried > 8


@pytest.mark.parametrize(("seed", "hours"), [(2, 14), (3, 40)])
def test_made_up_shops_some_hours_on(seed: int, hours: float) -> None:
    decoded(later(generate("S", seed), hours), 4)


def test_what_was_taken_off_before_the_plan_began_counts_as_taken_off_at_its_start() -> None:
    # A begun job that only waits for an oven left its printer hours ago; a gap behind it begins there.
    task = make_task(generate("S", 1))
    P, _ = watched(task.problem, ready_state(Base(task)))
    for j in range(P.jobs):
        for p in P.fit_printer[P.fit_off[P.j_fit[j]] : P.fit_off[P.j_fit[j] + 1]]:
            assert soonest_unload(P, j, p, -732) == soonest_unload(P, j, p, 0)
