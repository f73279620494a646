"""Steps that can wait give way to jobs that are put back, and find hands at another time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model import Anneal, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.construct import Base, finish
from scheduler.planning.engine import Engine, Tuning, ready_state
from scheduler.planning.kernel.choose import REFUSED_MOST, place_best
from scheduler.planning.kernel.seat import LIFTED, LIFTED_N, lift, seat
from scheduler.planning.kernel.tables import NEVER, SCRATCH_FIELDS, Problem, State
from scheduler.planning.ladder import FEW
from scheduler.planning.orders import orders
from scheduler.planning.problem import make_task
from tests.builders import (
    a_drying_row,
    a_feed,
    a_job,
    a_material,
    a_printer,
    a_scenario,
    a_shift,
    a_site,
    a_spool,
    at,
)
from tests.planning.random_shops import random_shop

ONE_PERSON = (a_shift(0, 370, 1), a_shift(700, 1100, 1), a_shift(1440, 2400, 1))


def ready(scenario: Scenario) -> tuple[Base, Problem, State]:
    """The shop's arrays, nothing placed."""
    base = Base(make_task(scenario))
    S = ready_state(base)
    S.dice[:] = [7920, 12345]
    S.weights[:5] = [0.05, 0.0, 0.0, 0.0, 0.5]
    return base, base.task.problem, S


def put(P: Problem, S: State, j: int) -> None:
    assert place_best(P, S, j, S.weights, P.printers, 1, REFUSED_MOST) == 1


def is_valid(base: Base, S: State) -> bool:
    shop = base.task.scenario
    plan = finish(base, S).plan(scenario_hash(shop), shop.site.plan_start, 0.0, 1, None)
    return not check(shop, plan)


def plan_of_lists(S: State) -> dict[str, list[float]]:
    return {k: list(v) for k, v in S._asdict().items() if k not in SCRATCH_FIELDS and k != "log"}


def of_first(S: State) -> tuple[int, ...]:
    """When the first job comes off, and when the runs begin."""
    return (S.unload[0], *S.run_start)


def two_machines(**site: object) -> dict[str, object]:
    return {
        "site": a_site(dry_storage=True, **site),
        "printers": (a_printer("P1"), a_printer("P2")),
        "spools": (a_spool("s1"), a_spool("s2")),
        "shifts": ONE_PERSON,
    }


def an_oven() -> Scenario:
    """J1 goes into the oven, an hour and more of the one person's time, just when J2's changeover is due."""
    jobs = (
        a_job("J1", print_min=200, anneal=True, due=at(2000)),
        a_job("J2", print_min=200, release=at(285), due=at(800)),
    )
    return a_scenario(
        **two_machines(oven_load_min=75), materials=(a_material(anneal=Anneal(90.0, 2.0)),), jobs=jobs
    )


def an_unload() -> Scenario:
    """J1's unload takes an hour and more just when J2's changeover is due."""
    jobs = (
        a_job("J1", print_min=200, due=at(2000)),
        a_job("J2", print_min=200, release=at(280), due=at(850)),
    )
    return a_scenario(**two_machines(unload_min=75), jobs=jobs)


def a_drying() -> Scenario:
    """J1's spool is loaded for 75 minutes at the plan's start, though J1 comes later; J2 could begin then."""
    dried = a_material("PA", drying=(a_drying_row(),), open_time_min=2000)
    jobs = (
        a_job("J1", feeds=(a_feed("PA"),), print_min=200, release=at(705), due=at(2500)),
        a_job("J2", print_min=200, due=at(300)),
    )
    shop = a_scenario(**two_machines(dryer_load_min=75), materials=(a_material(), dried), jobs=jobs)
    return replace(shop, spools=(a_spool("s1", "PA"), a_spool("s2")))


SHOPS = (an_oven, an_unload, a_drying)


@pytest.mark.parametrize("shop", SHOPS)
def test_a_step_that_can_wait_gives_way(shop: Callable[[], Scenario]) -> None:
    base, P, S = ready(shop())
    put(P, S, 0)
    before = of_first(S)
    put(P, S, 1)
    assert of_first(S) == before
    assert S.done[1] > P.j_due[1], "as things stand, the second job is late"

    base, P, S = ready(base.task.scenario)
    put(P, S, 0)
    lift(P, S, -NEVER, NEVER)
    assert S.t[LIFTED_N] >= 1
    put(P, S, 1)
    assert seat(P, S) == 1
    assert S.done[1] <= P.j_due[1] and S.done[0] <= P.j_due[0]
    assert of_first(S) != before
    assert is_valid(base, S)


@pytest.mark.parametrize("shop", SHOPS)
def test_what_nobody_took_the_hands_of_stays(shop: Callable[[], Scenario]) -> None:
    _, P, S = ready(shop())
    put(P, S, 0)
    before = plan_of_lists(S)
    lift(P, S, -NEVER, NEVER)
    assert plan_of_lists(S)["hands"] != before["hands"]
    assert seat(P, S) == 1
    assert plan_of_lists(S) == before


@pytest.mark.parametrize("shop", SHOPS)
def test_what_others_hold_for_good_can_not_be_seated(shop: Callable[[], Scenario]) -> None:
    _, P, S = ready(shop())
    put(P, S, 0)
    lift(P, S, -NEVER, NEVER)
    S.hands[:] = [0] * len(S.hands)
    assert seat(P, S) == 0


def test_steps_that_can_not_wait_are_not_lifted() -> None:
    # Late already, with nothing before it: sooner it can't be, later it must not.
    jobs = (a_job("J1", print_min=200, anneal=True, due=at(0)),)
    shop = replace(an_oven(), jobs=jobs)
    _, P, S = ready(shop)
    put(P, S, 0)
    lift(P, S, -NEVER, NEVER)
    assert S.t[LIFTED_N] == 0


def test_only_steps_about_the_minutes_asked_for_are_lifted() -> None:
    _, P, S = ready(an_unload())
    put(P, S, 0)
    lift(P, S, S.unload[0] + 1, NEVER)
    assert S.t[LIFTED_N] == 0
    lift(P, S, S.unload[0], S.unload[0] + 1)
    assert S.t[LIFTED] == -1


@pytest.mark.parametrize("seed", range(4))
def test_a_search_that_always_lifts_keeps_every_rule(seed: int) -> None:
    shops = [generate("S", 1 + seed), generate("S", 11 + seed), generate("M", 1 + seed)]
    shops += [random_shop(41000 + 10 * seed + k, able=True) for k in range(10)]
    moved = 0
    for shop in shops:
        base = Base(make_task(shop))
        engine = Engine(base, compiled_kernels(), 3 + seed, 1, Tuning(seats=1.0, leave=0.2))
        order, taste = orders(base.task)[0]
        pool = engine.construct(order, taste, lambda placed: False)
        assert pool is not None
        engine.begin(pool)
        first = engine.best
        for _ in range(10):
            engine.step(0.5, 200)
        moved += engine.best < first
        assert is_valid(base, engine.best_state())
    assert moved > 3


def test_small_shops_lift() -> None:
    assert 0.0 < FEW.seats <= 0.5 and Tuning().seats == 0.0
