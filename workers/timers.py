"""The clock's work: one thread that looks each minute at what is due and hands it on.

APScheduler with its jobs declared here and kept in memory: a store shared by processes fires twice. What ran
last and who is at it stand in the record, so that any number of servers may look at once.
"""

from __future__ import annotations

import logging
import multiprocessing
import os
import socket
import uuid
from collections.abc import Callable
from datetime import UTC, datetime

from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.jobstores.memory import MemoryJobStore
from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.triggers.interval import IntervalTrigger

from scheduler.model.errors import SoaklineError
from scheduler.office.clock import Clock
from scheduler.office.config import Config
from scheduler.office.timers import LEASE, TIMERS, Timer, take_up
from scheduler.store import Record
from workers.tasks import timed_child

#: Between two looks, seconds.
LOOK_S = 60
#: A look that comes later than this, because the machine slept, is left to the next one, seconds.
LATE_LOOK_S = 300

log = logging.getLogger(__name__)

#: Hands work on: the timer's name, the due instant, and who holds its lease.
Enqueue = Callable[[str, datetime, str], None]


class Timers:
    """Looks at what is due, takes its lease and enqueues it.

    Parameters
    ----------
    enqueue : callable
        Returns at once; the work is done elsewhere.
    """

    def __init__(self, record: Record, clock: Clock, enqueue: Enqueue) -> None:
        self._record = record
        self._clock = clock
        self._enqueue = enqueue
        # Its own look each minute is no news.
        logging.getLogger("apscheduler").setLevel(logging.WARNING)
        self._scheduler = BackgroundScheduler(
            jobstores={"default": MemoryJobStore()},
            executors={"default": ThreadPoolExecutor(1)},
            job_defaults={"coalesce": True, "max_instances": 1, "misfire_grace_time": LATE_LOOK_S},
            timezone=UTC,
            daemon=True,
        )
        for timer in TIMERS:
            self._scheduler.add_job(
                self.look, IntervalTrigger(seconds=LOOK_S, timezone=UTC), args=(timer,), id=timer.name
            )

    def start(self) -> None:
        """Begin to look; the first time after a minute, when a server has settled."""
        self._scheduler.start()

    def close(self) -> None:
        """Look no more."""
        if self._scheduler.running:
            self._scheduler.shutdown(wait=False)

    def look(self, timer: Timer) -> None:
        """Enqueue a timer's work if it is due and nobody else is at it."""
        who = f"{socket.gethostname()} {os.getpid()} {uuid.uuid4().hex[:12]}"
        try:
            due = take_up(self._record, self._clock, timer, who)
        except SoaklineError as error:
            # The database may be gone for a moment; the next look is a minute away.
            log.warning("could not look at the timer %r: %s", timer.name, error)
            return
        if due is not None:
            log.info("the timer %r is due since %s", timer.name, due.isoformat())
            self._enqueue(timer.name, due, who)


class ChildQueue:
    """Does enqueued work in processes of its own, which end with the server."""

    def __init__(self, config: Config) -> None:
        self._config = config
        self._context = multiprocessing.get_context("spawn")

    def __call__(self, name: str, due: datetime, who: str) -> None:
        self._context.Process(
            target=timed_child,
            args=(self._config.database_url, name, due, who, self._config.log_level),
            name=f"timer-{name}",
            daemon=True,
        ).start()


class RedisQueue:
    """Hands enqueued work to the workers that take planning runs."""

    def __init__(self, redis_url: str) -> None:
        # Only shops that run a queue need its client libraries to load.
        from redis import Redis
        from rq import Queue

        from workers.queued import KEEP_S, QUEUE_NAME

        self._keep_s = KEEP_S
        self._queue = Queue(QUEUE_NAME, connection=Redis.from_url(redis_url))

    def __call__(self, name: str, due: datetime, who: str) -> None:
        self._queue.enqueue(
            "workers.tasks.queued_timer",
            name,
            due,
            who,
            job_timeout=int(LEASE.total_seconds()),
            result_ttl=self._keep_s,
            failure_ttl=self._keep_s,
        )


def make_timers(config: Config, record: Record, clock: Clock) -> Timers:
    """The timers of a server, handing work to the queue where there is one, else to child processes."""
    enqueue: Enqueue = RedisQueue(config.redis_url) if config.redis_url else ChildQueue(config)
    return Timers(record, clock, enqueue)
