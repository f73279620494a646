"""The work itself, as functions that a fresh process can import by name."""

from __future__ import annotations

import logging
import os
from datetime import datetime
from typing import TYPE_CHECKING

from scheduler.office.clock import system_clock
from scheduler.office.config import Config
from scheduler.office.logs import set_up_logging
from scheduler.office.plans import carry_out
from scheduler.office.timers import serve, timer_of
from scheduler.store import Record

if TYPE_CHECKING:
    from scheduler.planning.parts.crew import Crew

#: Every plan of one shop at one minute is the same plan.
SEED = 1

log = logging.getLogger(__name__)


def work_on_run(database_url: str, run_id: int, seconds: float, crew: Crew | None = None) -> None:
    """Plan, check and store the proposal of one run; what goes wrong is recorded with the run."""
    carry_out(Record(database_url), system_clock, run_id, seconds, SEED, crew)


def child_main(database_url: str, run_id: int, seconds: float, log_level: str) -> None:
    """Entry of the in-process runner's child."""
    set_up_logging(log_level)
    # People at the pages come first: the planner takes what they leave of the processor.
    os.nice(5)
    work_on_run(database_url, run_id, seconds)


def queued_run(run_id: int) -> None:
    """Entry of a queue worker, which reads its settings from its own environment."""
    config = Config.from_env(os.environ)
    crew: Crew | None = None
    if config.redis_url:
        from redis import Redis

        from workers.parts import QueuedCrew

        queued = QueuedCrew(Redis.from_url(config.redis_url))
        # Nobody may serve the parts' queue; then this process works on them itself.
        crew = queued if queued.size else None
    work_on_run(config.database_url, run_id, config.plan_seconds, crew)


def serve_timer(database_url: str, name: str, due: datetime, who: str) -> None:
    """Do a timer's work for an instant whose lease ``who`` holds."""
    record = Record(database_url)
    try:
        serve(record, system_clock, timer_of(name), due, who)
    finally:
        record.close()


def timed_child(database_url: str, name: str, due: datetime, who: str, log_level: str) -> None:
    """Entry of the child process that serves a timer."""
    set_up_logging(log_level)
    os.nice(10)
    serve_timer(database_url, name, due, who)


def queued_timer(name: str, due: datetime, who: str) -> None:
    """Entry of a queue worker that serves a timer."""
    serve_timer(Config.from_env(os.environ).database_url, name, due, who)
