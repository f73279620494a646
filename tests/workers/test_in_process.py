"""The runner with a child process of its own for each run."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator

import pytest

from scheduler.store import Record
from tests.builders import at
from tests.workers import tasks
from tests.workers.conftest import Await
from workers.closing import close_run
from workers.in_process import InProcessRunner

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
