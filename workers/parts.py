"""Parts of a very large shop improved by rq workers, on this machine or others.

``python -m workers.parts`` serves the queue ``soakline-parts``; the shop's arrays stay with it between
errands. Plain ``rq worker soakline-parts`` does the same, but loads everything anew for each errand.
"""

from __future__ import annotations

import logging
import os
import pickle
import time
import uuid
from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING

from redis import Redis
from rq import Queue, SimpleWorker, Worker, get_current_job

from scheduler.office.config import Config
from scheduler.office.logs import set_up_logging

if TYPE_CHECKING:
    from scheduler.planning.parts.ground import Ground
    from scheduler.planning.parts.part import Answer, Errand
    from scheduler.planning.parts.work import Bench

PARTS_QUEUE = "soakline-parts"
#: How long a shop's arrays, and answers that nobody fetched, stay in Redis, seconds.
KEEP_S = 3600
#: Seconds between two looks for an answer.
LOOK_S = 0.2
#: Seconds beyond its own time after which an errand is ended.
LIMIT_S = 120

log = logging.getLogger(__name__)


class QueuedCrew:
    """A crew of whoever serves the queue ``soakline-parts``.

    Answers come back through a list of this crew's own, so that a late one is found there too. A worker that
    dies leaves its errand unanswered; one that nobody has taken in its time leaves the queue by itself.
    """

    def __init__(self, connection: Redis) -> None:
        self._connection = connection
        self._queue = Queue(PARTS_QUEUE, connection=connection)
        self._answers = f"soakline:answers:{uuid.uuid4().hex}"

    @property
    def size(self) -> int:
        return Worker.count(queue=self._queue)

    def begin(self, ground: Ground) -> None:
        self._connection.set(_ground_key(ground.name), ground.packed, ex=KEEP_S)

    def work(self, errands: list[Errand], wait_s: float | None, give_up: Callable[[], bool]) -> list[Answer]:
        began = time.monotonic()
        missing = {errand.number for errand in errands}
        for errand in errands:
            self._connection.expire(_ground_key(errand.ground), KEEP_S)
            self._queue.enqueue(
                "workers.parts.improve_part",
                errand,
                self._answers,
                job_timeout=int(errand.seconds) + LIMIT_S,
                ttl=None if wait_s is None else max(1, int(wait_s)),
                result_ttl=0,
                failure_ttl=KEEP_S,
            )
        answers: list[Answer] = []
        while missing and not give_up():
            left = LOOK_S if wait_s is None else wait_s - (time.monotonic() - began)
            if left <= 0.0 or (wait_s is None and self.size == 0):
                break
            message = self._connection.lpop(self._answers)
            if not isinstance(message, bytes):
                time.sleep(min(LOOK_S, left))
                continue
            answers.append(pickle.loads(message))  # our own workers' words, as rq's are
            missing.discard(answers[-1].number)
        return sorted(answers, key=lambda answer: answer.number)

    def close(self) -> None:
        self._connection.delete(self._answers)


def improve_part(errand: Errand, answers: str) -> None:
    """Entry of a queue worker: carry an errand out and leave the answer in the list ``answers``."""
    job = get_current_job()
    assert job is not None
    connection = job.connection
    answer = _bench(connection, errand.ground).improve(errand)
    with connection.pipeline() as together:
        together.rpush(answers, pickle.dumps(answer, 5))
        together.expire(answers, KEEP_S)
        together.execute()


def _ground_key(name: str) -> str:
    return f"soakline:ground:{name}"


@lru_cache(maxsize=1)
def _bench(connection: Redis, ground: str) -> Bench:
    from scheduler.planning.compiled import compiled_kernels
    from scheduler.planning.parts.ground import Ground
    from scheduler.planning.parts.work import Bench

    packed = connection.get(_ground_key(ground))
    if not isinstance(packed, bytes):
        raise LookupError(f"the arrays of shop {ground} are no longer in Redis")
    return Bench(Ground.unpacked(packed), compiled_kernels())


def main() -> None:
    """Serve the queue until told to end."""
    from scheduler.planning.compiled import compiled_kernels

    config = Config.from_env(os.environ)
    set_up_logging(config.log_level)
    if not config.redis_url:
        raise SystemExit("SOAKLINE_REDIS_URL is not set: there is no queue to serve")
    # Before the first errand comes, so that it finds them loaded.
    compiled_kernels()
    connection = Redis.from_url(config.redis_url)
    SimpleWorker([Queue(PARTS_QUEUE, connection=connection)], connection=connection).work()


if __name__ == "__main__":
    main()
