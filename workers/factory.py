"""Which runner a configuration asks for."""

from __future__ import annotations

from scheduler.office.clock import Clock
from scheduler.office.config import Config
from scheduler.store import Record
from workers.in_process import InProcessRunner
from workers.runner import Runner
from workers.tasks import child_main


def make_runner(config: Config, record: Record, clock: Clock) -> Runner:
    """The queue's runner where ``SOAKLINE_REDIS_URL`` is set, else the in-process one."""
    if config.redis_url:
        # Only shops that run a queue need its client libraries to load.
        from redis import Redis

        from workers.queued import QueuedRunner

        return QueuedRunner(record, clock, Redis.from_url(config.redis_url))

    def arguments(run_id: int) -> tuple[object, ...]:
        return (config.database_url, run_id, config.plan_seconds, config.log_level)

    return InProcessRunner(record, clock, child_main, arguments)
