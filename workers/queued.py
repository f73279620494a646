"""The runner that hands runs to rq workers through Redis, for shops with a server of their own."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime, timedelta

from redis import Redis
from rq import Queue
from rq.command import send_stop_job_command
from rq.exceptions import InvalidJobOperation, NoSuchJobError
from rq.job import Job, JobStatus

from scheduler.store import Record
from workers.closing import close_run
from workers.in_process import LIMIT_MIN

QUEUE_NAME = "soakline"
#: How long Redis remembers a job that is over; our own record is what counts.
KEEP_S = int(timedelta(hours=1).total_seconds())
#: Where the queue says that nobody works on a job, and nobody will.
LOST_STATES = (None, JobStatus.FAILED, JobStatus.STOPPED, JobStatus.CANCELED, JobStatus.FINISHED)

log = logging.getLogger(__name__)


class QueuedRunner:
    """Puts runs into the queue ``soakline``; ``rq worker soakline`` takes them out.

    Workers need the same ``SOAKLINE_DATABASE_URL`` as the server. The planner ends by its own time
    limit: rq's is only the last resort, because its signal waits for native code to return.
    """

    def __init__(self, record: Record, clock: Callable[[], datetime], connection: Redis) -> None:
        self._record = record
        self._clock = clock
        self._connection = connection
        self._queue = Queue(QUEUE_NAME, connection=connection)

    def start(self, run_id: int) -> None:
        """Put the run at the end of the queue."""
        self._queue.enqueue(
            "workers.tasks.queued_run",
            run_id,
            job_id=_job_id(run_id),
            job_timeout=LIMIT_MIN * 60,
            result_ttl=KEEP_S,
            failure_ttl=KEEP_S,
        )

    def stop(self, run_id: int) -> None:
        """Record that the run is stopped, then tell the worker or take it out of the queue."""
        close_run(self._record, self._clock(), run_id, "stopped", "Stopped by hand.")
        try:
            job = Job.fetch(_job_id(run_id), connection=self._connection)
            if job.get_status() == JobStatus.STARTED:
                send_stop_job_command(self._connection, job.id)
            else:
                job.cancel()
        except (NoSuchJobError, InvalidJobOperation):
            log.info("planning run %d was already out of the queue", run_id)

    def reconcile(self) -> None:
        """Close open runs that the queue has lost or calls failed: a killed worker tells nobody."""
        with self._record.reading() as unit:
            open_runs = unit.runs.open()
        for run in open_runs:
            try:
                status = Job.fetch(_job_id(run.id), connection=self._connection).get_status()
            except NoSuchJobError:
                status = None
            if status in LOST_STATES:
                message = "The worker that made this plan has ended."
                close_run(self._record, self._clock(), run.id, "failed", message)

    def close(self) -> None:
        """Leave the queue as it is; its workers go on without this server."""
        self._connection.close()


def _job_id(run_id: int) -> str:
    return f"soakline-run-{run_id}"
