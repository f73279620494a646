"""The runner with a child process of its own for each run."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator

import pytest

from demo_fleet import generate
from scheduler.office import plans, run_ends
from scheduler.store import Record
from tests.builders import at
from tests.workers import tasks
from tests.workers.conftest import Await
from workers.closing import close_run
from workers.in_process import InProcessRunner
from workers.tasks import child_main

Make = Callable[..., InProcessRunner]


@pytest.fixture
def make(record: Record) -> Iterator[Make]:
    runners: list[InProcessRunner] = []

    def runner(entry: Callable[[str, int], None], limit_s: float = 60.0) -> InProcessRunner:
        url = record.url.render_as_string(hide_password=False)
        made = InProcessRunner(record, lambda: at(30), entry, lambda run_id: (url, run_id), limit_s)
        runners.append(made)
        return made

    yield runner
    for made in runners:
        made.close()


def test_runs_are_done_one_after_the_other_outside_of_this_process(
    make: Make, request_run: Callable[[], int], await_state: Await
) -> None:
    runner = make(tasks.finish)
    first, second = request_run(), request_run()
    runner.start(first)
    runner.start(second)
    processes = {await_state(run_id, "done").doing for run_id in (first, second)}
    assert len(processes) == 2
    assert str(os.getpid()) not in processes


def test_run_that_dies_is_closed_with_its_exit_code(
    make: Make, request_run: Callable[[], int], await_state: Await
) -> None:
    runner = make(tasks.crash)
    run_id = request_run()
    runner.start(run_id)
    run = await_state(run_id, "failed")
    assert "exit code 9" in run.message
    assert run.ended_at == at(30)


def test_next_run_begins_after_one_has_died(
    make: Make, request_run: Callable[[], int], await_state: Await
) -> None:
    runner = make(tasks.crash)
    first, second = request_run(), request_run()
    runner.start(first)
    runner.start(second)
    assert await_state(second, "failed").id == second


def test_stop_ends_the_process_and_tells_so(
    make: Make, request_run: Callable[[], int], await_state: Await
) -> None:
    runner = make(tasks.linger)
    run_id, waiting = request_run(), request_run()
    runner.start(run_id)
    runner.start(waiting)
    await_state(run_id, "working")
    runner.stop(waiting)
    runner.stop(run_id)
    assert await_state(run_id, "stopped").message == "Stopped by hand."
    assert await_state(waiting, "stopped").message == "Stopped by hand."


def test_run_beyond_the_last_limit_is_ended(
    make: Make, request_run: Callable[[], int], await_state: Await
) -> None:
    runner = make(tasks.linger, limit_s=6.0)
    run_id = request_run()
    runner.start(run_id)
    assert "Still planning after 0.1 minutes" in await_state(run_id, "failed").message


def test_end_of_the_server_ends_its_runs(
    make: Make, record: Record, request_run: Callable[[], int], await_state: Await
) -> None:
    runner = make(tasks.linger)
    run_id = request_run()
    runner.start(run_id)
    await_state(run_id, "working")
    runner.close()
    with record.reading() as unit:
        run = unit.runs.get(run_id)
    assert run is not None and (run.state, run.message) == ("stopped", "The server was ended.")
    with pytest.raises(RuntimeError, match="closed"):
        runner.start(request_run())


def test_runs_of_an_earlier_server_are_closed(
    make: Make, record: Record, request_run: Callable[[], int]
) -> None:
    done, left, waiting = request_run(), request_run(), request_run()
    with record.writing() as unit:
        unit.runs.update(done, state="done")
        unit.runs.update(left, state="working")
    make(tasks.finish).reconcile()
    with record.reading() as unit:
        states = [getattr(unit.runs.get(id), "state", None) for id in (done, left, waiting)]
    assert states == ["done", "failed", "failed"]


def test_run_of_this_server_stays_open(
    make: Make, request_run: Callable[[], int], await_state: Await
) -> None:
    runner = make(tasks.linger)
    run_id = request_run()
    runner.start(run_id)
    await_state(run_id, "working")
    runner.reconcile()
    assert await_state(run_id, "working").ended_at is None


def test_closing_never_overwrites_an_end(record: Record, request_run: Callable[[], int]) -> None:
    run_id = request_run()
    assert close_run(record, at(1), run_id, "stopped", "Stopped by hand.") is True
    assert close_run(record, at(2), run_id, "failed", "died") is False
    assert close_run(record, at(2), 77, "failed", "died") is False
    with record.reading() as unit:
        run = unit.runs.get(run_id)
    assert run is not None and (run.state, run.message, run.ended_at) == (
        "stopped",
        "Stopped by hand.",
        at(1),
    )


@pytest.fixture
def planning(record: Record) -> Iterator[InProcessRunner]:
    """A runner that plans a small shop for as long as nobody ends it."""
    with record.writing() as unit:
        unit.fleet.replace(generate("S", 1))
    url = record.url.render_as_string(hide_password=False)
    runner = InProcessRunner(record, lambda: at(0), child_main, lambda id: (url, id, 600.0, "WARNING"))
    yield runner
    runner.close()


def test_the_best_plan_is_kept_when_somebody_has_seen_enough(
    planning: InProcessRunner, record: Record, await_state: Await, await_plan: Await
) -> None:
    run_id = plans.request_plan(record, lambda: at(0))
    planning.start(run_id)
    seen = await_plan(run_id, "working")
    assert seen.lower_bound is not None and seen.trail[-1][1] == seen.late_cost
    run_ends.keep_best(record, lambda: at(0), run_id, "Mara")
    done = await_state(run_id, "done")
    with record.reading() as unit:
        stored, newest = unit.plans.get(done.plan_number or 0), unit.events.list()[0]
    assert stored is not None and stored.state == "proposal" and stored.plan.seconds < 600
    assert seen.late_cost is not None and stored.plan.late_cost <= seen.late_cost + 0.01
    assert (newest.kind, newest.data["ended_by"]) == ("plan proposed", "Mara")


def test_a_run_asked_to_end_before_it_begins_keeps_its_first_plan(
    planning: InProcessRunner, record: Record, await_state: Await
) -> None:
    run_id = plans.request_plan(record, lambda: at(0))
    run_ends.keep_best(record, lambda: at(0), run_id, "Mara")
    planning.start(run_id)
    assert await_state(run_id, "done").plan_number == 1


def test_a_run_thrown_away_leaves_nothing(
    planning: InProcessRunner, record: Record, await_state: Await, await_plan: Await
) -> None:
    run_id = plans.request_plan(record, lambda: at(0))
    planning.start(run_id)
    await_plan(run_id, "working")
    run_ends.throw_away(record, lambda: at(0), run_id, "Mara")
    planning.stop(run_id)
    assert await_state(run_id, "stopped").message == "Mara threw it away."
    with record.reading() as unit:
        assert unit.plans.list() == ()
