"""Steps in no hurry leave their minutes to others, and wait no longer than those need."""

from __future__ import annotations

import copy

import pytest

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model import Anneal, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.construct import Base, finish
from scheduler.planning.engine import Engine, Tuning
from scheduler.planning.hasten import hasten
from scheduler.planning.kernel.hands import attended_after, give
from scheduler.planning.kernel.tables import FREE
from scheduler.planning.orders import orders
from scheduler.planning.problem import make_task
from scheduler.planning.result import cost_of
from tests.builders import a_job, a_material, a_scenario, a_shift, a_site, at
from tests.planning.test_planner import plan_of


def yielding(scenario: Scenario) -> tuple[Base, Engine]:
    """A search in which every job leaves its last steps' minutes to others half of the time."""
    base = Base(make_task(scenario))
    engine = Engine(base, compiled_kernels(), 5, 1, Tuning(leave=1.0))
    order, taste = orders(base.task)[0]
    pool = engine.construct(order, taste, lambda placed: False)
    assert pool is not None
    engine.begin(pool)
    engine.step(0.5, 600)
    return base, engine


@pytest.mark.parametrize("size,seed", [("S", 1), ("S", 4), ("S", 7), ("M", 2)])
def test_what_waited_for_nothing_goes_ahead(size: str, seed: int) -> None:
    scenario = generate(size, seed)
    base, engine = yielding(scenario)
    state = engine.best_state()
    before = cost_of(base.task, state)
    unloads, bakes = state.unload[:], state.done[:]
    S, P = state, base.task.problem
    hasten(P, S)
    assert any(S.unload[j] < unloads[j] for j in range(P.jobs))
    assert all(S.unload[j] <= unloads[j] and S.done[j] <= bakes[j] for j in range(P.jobs))
    for j in range(P.jobs):
        if S.printer[j] < 0 or S.fixed[j] != FREE:
            continue
        # No unload that waits could have begun sooner, its own hand given back.
        tried = copy.deepcopy(S)
        give(tried, S.unload[j], P.unload_min)
        sooner = attended_after(P, tried, S.printer[j], S.cool_end[j], P.unload_min)
        # The water in its spools may still hold it.
        wet = any(P.s_needs_drying[S.spool[2 * j + f]] for f in range(P.j_feeds[j]))
        assert sooner == S.unload[j] or wet
    plan = finish(base, S).plan(scenario_hash(scenario), scenario.site.plan_start, 0.0, 1, None)
    assert not check(scenario, plan)
    assert cost_of(base.task, S).late_hours <= before.late_hours + 1e-9


def test_an_oven_that_can_wait_leaves_the_one_person_to_the_next_print() -> None:
    # J1 comes off at minute 288. Put into the oven at once, it takes the only person there until 348, and
    # then J2's first layer, 29 minutes after its changeover began, would come when nobody is there, at 377.
    jobs = (
        a_job("J1", print_min=200, anneal=True, due=at(900)),
        a_job("J2", print_min=200, release=at(250), due=at(720)),
    )
    shop = a_scenario(
        site=a_site(oven_load_min=60, dry_storage=True),
        materials=(a_material(anneal=Anneal(90.0, 2.0)),),
        shifts=(a_shift(0, 375, 1), a_shift(700, 1100, 1), a_shift(1440, 2400, 1)),
        jobs=jobs,
    )
    hurried, patient = plan_of(shop, rounds=0), plan_of(shop, rounds=400)
    assert hurried.late_cost > 0.0
    assert patient.late_cost == 0.0 and not check(shop, patient)
    minute = shop.site.minute
    second = next(job for job in patient.jobs if job.job == "J2")
    assert minute(second.steps[0].start) >= 288 and minute(second.steps[2].end) <= 375
    # While J2's chamber heats there is time for the oven.
    assert [minute(run.start) for run in patient.oven_runs] >= [minute(second.steps[0].end)]
