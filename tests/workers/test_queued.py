"""The runner that hands runs to rq, against a Redis of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from redis import Redis
from redis.exceptions import ConnectionError as NotUpYet
from rq import Queue, SimpleWorker

from demo_fleet import generate
from scheduler.office import plans, run_ends
from scheduler.office.clock import system_clock
from scheduler.office.config import Config
from scheduler.office.timers import HUMID_WEEK
from scheduler.store import Record
from tests.builders import at
from tests.workers.conftest import Await
from workers import make_runner
from workers.in_process import InProcessRunner
from workers.queued import QUEUE_NAME, QueuedRunner
from workers.timers import RedisQueue


@pytest.fixture(scope="module")
def redis(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Redis]:
    """A Redis server on a socket in a folder of its own."""
    program = shutil.which("redis-server")
    if program is None:
        if os.environ.get("SOAKLINE_REQUIRE_SERVICES") == "1":
            pytest.fail("redis-server is not installed, though SOAKLINE_REQUIRE_SERVICES asks for it")
        pytest.skip("redis-server is not installed")
    folder: Path = tmp_path_factory.mktemp("redis")
    socket = folder / "redis.sock"
    options = ["--port", "0", "--unixsocket", str(socket), "--save", "", "--dir", str(folder)]
    server = subprocess.Popen([program, *options], stdout=subprocess.DEVNULL)
    connection = Redis(unix_socket_path=str(socket))
    deadline = time.monotonic() + 20
    while True:
        try:
            connection.ping()
            break
        except NotUpYet:
            assert time.monotonic() < deadline, "redis-server does not answer"
            time.sleep(0.05)
    yield connection
    connection.close()
    server.terminate()
    server.wait(timeout=20)


@pytest.fixture
def runner(record: Record, redis: Redis) -> QueuedRunner:
    redis.flushall()
    return QueuedRunner(record, lambda: at(30), redis)


def test_run_is_put_into_the_queue_once_and_by_name(
    runner: QueuedRunner, redis: Redis, request_run: Callable[[], int]
) -> None:
    run_id = request_run()
    runner.start(run_id)
    (job,) = Queue(QUEUE_NAME, connection=redis).jobs
    assert job.func_name == "workers.tasks.queued_run"
    assert job.args == (run_id,)


def test_waiting_run_is_taken_out_when_stopped(
    runner: QueuedRunner, redis: Redis, record: Record, request_run: Callable[[], int]
) -> None:
    run_id = request_run()
    runner.start(run_id)
    runner.stop(run_id)
    assert Queue(QUEUE_NAME, connection=redis).jobs == []
    with record.reading() as unit:
        run = unit.runs.get(run_id)
    assert run is not None and run.state == "stopped"
    # A second press finds nothing to do and says nothing.
    runner.stop(run_id)


def test_worker_carries_the_run_out_or_records_why_not(
    runner: QueuedRunner,
    redis: Redis,
    record: Record,
    request_run: Callable[[], int],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("SOAKLINE_DATABASE_URL", record.url.render_as_string(hide_password=False))
    run_id = request_run()
    runner.start(run_id)
    SimpleWorker([Queue(QUEUE_NAME, connection=redis)], connection=redis).work(burst=True)
    runner.reconcile()
    with record.reading() as unit:
        run = unit.runs.get(run_id)
    # There is no shop in this record, so nothing can be planned; the run says so.
    assert run is not None and run.state == "failed"
    assert run.message


def test_runs_that_the_queue_has_lost_are_closed(
    runner: QueuedRunner, redis: Redis, record: Record, request_run: Callable[[], int]
) -> None:
    kept, lost = request_run(), request_run()
    runner.start(kept)
    runner.reconcile()
    with record.reading() as unit:
        states = [getattr(unit.runs.get(id), "state", None) for id in (kept, lost)]
    assert states == ["waiting", "failed"]


def test_configuration_chooses_the_runner(record: Record) -> None:
    def clock() -> object:
        return at(0)

    assert isinstance(make_runner(Config.from_env({}), record, clock), InProcessRunner)
    with_queue = Config.from_env({"SOAKLINE_REDIS_URL": "redis://127.0.0.1:6379/0"})
    queued = make_runner(with_queue, record, clock)
    assert isinstance(queued, QueuedRunner)
    queued.close()


def test_what_is_due_by_the_clock_goes_through_the_queue(
    record: Record, redis: Redis, monkeypatch: pytest.MonkeyPatch
) -> None:
    redis.flushall()
    monkeypatch.setenv("SOAKLINE_DATABASE_URL", record.url.render_as_string(False))
    with record.writing() as unit:
        assert unit.timers.claim(HUMID_WEEK.name, at(0), at(0), at(30), "one")
    RedisQueue("unix://" + redis.connection_pool.connection_kwargs["path"])(HUMID_WEEK.name, at(0), "one")
    queue = Queue(QUEUE_NAME, connection=redis)
    (job,) = queue.jobs
    assert job.func_name == "workers.tasks.queued_timer" and job.args == (HUMID_WEEK.name, at(0), "one")
    SimpleWorker([queue], connection=redis).work(burst=True)
    with record.reading() as unit:
        state = unit.timers.get(HUMID_WEEK.name)
    # Without a shop there is no plan to look at, which is recorded and not tried again.
    assert state.served_for == at(0) and "no published plan" in state.failed


@pytest.fixture
def worker(record: Record, redis: Redis, runner: QueuedRunner) -> Iterator[None]:
    """A worker in a process of its own, for a small shop that is planned until somebody ends it."""
    with record.writing() as unit:
        unit.fleet.replace(generate("S", 1))
    url = "unix://" + redis.connection_pool.connection_kwargs["path"]
    settings = {
        "SOAKLINE_DATABASE_URL": record.url.render_as_string(hide_password=False),
        "SOAKLINE_PLAN_SECONDS": "600",
    }
    process = subprocess.Popen(
        [sys.executable, "-m", "rq.cli", "worker", "--url", url, "--quiet", QUEUE_NAME],
        env={**os.environ, **settings},
        stderr=subprocess.DEVNULL,
    )
    yield
    process.terminate()
    try:
        process.wait(timeout=20)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


@pytest.mark.usefixtures("worker")
def test_worker_keeps_the_best_plan_when_somebody_has_seen_enough(
    runner: QueuedRunner, record: Record, await_state: Await, await_plan: Await
) -> None:
    run_id = plans.request_plan(record, system_clock)
    runner.start(run_id)
    seen = await_plan(run_id, "working")
    run_ends.keep_best(record, system_clock, run_id, "Mara")
    done = await_state(run_id, "done")
    with record.reading() as unit:
        stored, newest = unit.plans.get(done.plan_number or 0), unit.events.list()[0]
    assert stored is not None and stored.state == "proposal" and stored.plan.seconds < 600
    assert seen.trail and (newest.kind, newest.data["ended_by"]) == ("plan proposed", "Mara")


@pytest.mark.usefixtures("worker")
def test_worker_is_free_again_when_a_run_was_thrown_away(
    runner: QueuedRunner, record: Record, await_state: Await, await_plan: Await
) -> None:
    run_id = plans.request_plan(record, system_clock)
    runner.start(run_id)
    await_plan(run_id, "working")
    run_ends.throw_away(record, system_clock, run_id, "Mara")
    runner.stop(run_id)
    assert await_state(run_id, "stopped").message == "Mara threw it away."
    after = plans.request_plan(record, system_clock)
    run_ends.keep_best(record, system_clock, after, "Mara")
    runner.start(after)
    assert await_state(after, "done").plan_number == 1
    assert await_state(run_id, "stopped").plan_number is None
