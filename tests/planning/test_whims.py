"""A job put back may take its machines to cost more than they do, by chance; what counts stays as it is."""

from __future__ import annotations

import pytest

from demo_fleet import generate
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.construct import Base
from scheduler.planning.engine import Engine, Tuning, ready_state
from scheduler.planning.kernel.choose import place_best
from scheduler.planning.kernel.place import late_weight
from scheduler.planning.kernel.score import WHIM
from scheduler.planning.kernel.tables import LATE
from scheduler.planning.ladder import FEW
from scheduler.planning.orders import orders
from scheduler.planning.problem import Task, make_task
from tests.builders import a_job, a_printer, a_scenario, a_spool, at


def three_machines() -> Task:
    """P1 is the quickest, P2 a quarter of an hour slower, P3 twenty hours."""
    return make_task(
        a_scenario(
            printers=(
                a_printer("P1"),
                a_printer("P2", speed_factor=1.05),
                a_printer("P3", speed_factor=5.0),
            ),
            spools=(a_spool("s1"),),
            jobs=(a_job("J1", print_min=300, due=at(200)),),
        )
    )


def went_to(whim: float, times: int) -> set[str]:
    """The machines that the one job goes to, by chance."""
    task, went = three_machines(), set()
    for k in range(times):
        S = ready_state(Base(task))
        S.dice[:] = [1 + 7919 * k, 12345]
        S.weights[:5] = [0.05, 0.0, 0.0, 0.0, 0.5]
        S.weights[WHIM] = whim
        assert place_best(task.problem, S, 0, S.weights, 3, 1, 0) == 1
        # Its late hours are what they are: no whim is among them.
        assert S.total[LATE] == pytest.approx(late_weight(task.problem, S, 0))
        went.add(task.scenario.printers[S.printer[0]].id)
    return went


def test_by_a_whim_a_job_goes_to_a_machine_that_is_hardly_worse() -> None:
    assert went_to(0.0, 40) == {"P1"}
    assert went_to(4.0, 40) == {"P1", "P2"}


def test_a_search_with_whims_keeps_its_figures_and_leaves_none_behind() -> None:
    base = Base(make_task(generate("S", 7)))
    engine = Engine(base, compiled_kernels(), 3, 1, Tuning(whims=1.0))
    order, taste = orders(base.task)[0]
    pool = engine.construct(order, taste, lambda placed: False)
    assert pool is not None
    engine.begin(pool)
    first = engine.best
    for _ in range(30):
        engine.step(0.9, 100)
    chain = engine._made[0]
    at_, _n = chain.pool.spans["S", "whim"]
    assert chain.pool.real[at_ : at_ + base.task.problem.printers].max() > 0.0
    weights, _n = chain.pool.spans["S", "weights"]
    assert chain.pool.real[weights + WHIM] == 0.0
    state, P = engine.best_state(), base.task.problem
    late = sum(late_weight(P, state, j) for j in range(P.jobs) if state.printer[j] >= 0)
    assert state.total[LATE] == pytest.approx(late)
    assert chain.best < first


def test_small_shops_have_whims() -> None:
    assert FEW.whims > 0.0 and Tuning().whims == 0.0
