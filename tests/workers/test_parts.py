"""Parts of a shop improved through rq, against a Redis of the tests' own."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import pytest
from redis import Redis
from rq import Queue, Worker

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model import Plan
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from tests.services import redis_url
from workers.parts import PARTS_QUEUE, QueuedCrew

__all__ = ["redis_url"]

SHOP = generate("S", 2)
PATIENCE_S = 120.0


@pytest.fixture
def redis(redis_url: str) -> Iterator[Redis]:
    connection = Redis.from_url(redis_url)
    connection.flushall()
    yield connection
    connection.close()


@contextmanager
def serving(redis: Redis, redis_url: str, many: int) -> Iterator[list[subprocess.Popen[bytes]]]:
    """Workers of the parts' queue, each a program of its own."""
    environment = os.environ | {"SOAKLINE_REDIS_URL": redis_url, "SOAKLINE_LOG_LEVEL": "WARNING"}
    programs = [
        subprocess.Popen([sys.executable, "-m", "workers.parts"], env=environment) for _ in range(many)
    ]
    try:
        deadline = time.monotonic() + PATIENCE_S
        while Worker.count(queue=Queue(PARTS_QUEUE, connection=redis)) < many:
            assert time.monotonic() < deadline, "the workers do not come up"
            time.sleep(0.05)
        yield programs
    finally:
        for program in programs:
            program.kill()
            program.wait()


def planned(crew: QueuedCrew | None, **options: object) -> Plan:
    return make_plan(
        SHOP,
        scenario_hash=scenario_hash(SHOP),
        made_at=SHOP.site.plan_start,
        in_parts=True,
        crew=crew,
        **options,  # type: ignore[arg-type]  # any of make_plan's own
    )


def test_queue_makes_the_plan_that_threads_make(redis: Redis, redis_url: str) -> None:
    with serving(redis, redis_url, 2):
        queued = planned(QueuedCrew(redis), rounds=8_000)
    assert not check(SHOP, queued, scenario_hash(SHOP))
    assert replace(queued, seconds=0.0) == replace(planned(None, rounds=8_000, chains=2), seconds=0.0)
    # Nothing is left behind but the shop's arrays, which Redis forgets by itself.
    assert [key.split(b":")[1] for key in redis.keys("soakline:*")] == [b"ground"]


def test_plan_comes_in_time_though_a_worker_is_killed(redis: Redis, redis_url: str) -> None:
    with serving(redis, redis_url, 2) as programs:
        first = planned(None, seconds=0.0)
        timer = threading.Timer(1.0, lambda: os.kill(programs[0].pid, signal.SIGKILL))
        timer.start()
        began = time.monotonic()
        plan = planned(QueuedCrew(redis), seconds=8.0)
        took = time.monotonic() - began
        timer.join()
    assert not check(SHOP, plan, scenario_hash(SHOP))
    assert plan.late_cost < first.late_cost
    # Its last epoch waits at most for as long again as it lasts, and a second.
    assert took < 8.0 + PATIENCE_S / 4


def test_nobody_at_the_queue_leaves_the_work_to_this_process(redis: Redis) -> None:
    crew = QueuedCrew(redis)
    assert crew.size == 0
    plan = planned(crew, rounds=2_000)
    assert not check(SHOP, plan, scenario_hash(SHOP))
    assert Queue(PARTS_QUEUE, connection=redis).count == 0
