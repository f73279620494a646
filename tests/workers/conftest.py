"""A record to run against, and waiting for what another process does to it."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from scheduler.store import PlanningRun, Record
from tests.builders import at

#: A spawned child imports the project before it works; slow machines get their time.
PATIENCE_S = 60.0

Await = Callable[[int, str], PlanningRun]


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    record = Record(f"sqlite:///{tmp_path / 'runs.sqlite3'}")
    record.migrate()
    yield record
    record.close()


@pytest.fixture
def request_run(record: Record) -> Callable[[], int]:
    """Record a run that waits."""

    def request() -> int:
        with record.writing() as unit:
            return unit.runs.create(at(0))

    return request


@pytest.fixture
def await_state(record: Record) -> Await:
    """Wait until a run is in a state; the run."""

    return lambda run_id, state: _wait(record, run_id, lambda run: run.state == state)


@pytest.fixture
def await_plan(record: Record) -> Await:
    """Wait until a run is in a state and has a plan; the run."""
    return lambda run_id, state: _wait(
        record, run_id, lambda run: run.state == state and run.late_cost is not None
    )


def _wait(record: Record, run_id: int, reached: Callable[[PlanningRun], bool]) -> PlanningRun:
    deadline = time.monotonic() + PATIENCE_S
    while True:
        with record.reading() as unit:
            run = unit.runs.get(run_id)
        assert run is not None
        if reached(run):
            return run
        assert time.monotonic() < deadline, f"run {run_id} is {run.state}: {run.message or run.doing}"
        time.sleep(0.02)
