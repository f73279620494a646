"""A very large shop planned in parts, and the parts put together."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from scheduler.matching import Matcher
from scheduler.model import Plan, Scenario
from scheduler.planning.crew import Crew, Piece
from scheduler.planning.parts import split
from scheduler.planning.problem import Task
from scheduler.planning.replay import Rows, rows_of

#: Of the seconds, what the parts get together; the rest goes to putting them together and to the whole.
PARTS_SHARE = 0.8


@dataclass(frozen=True)
class Share:
    """How much work all parts together may be, and what their plans are marked with."""

    seconds: float
    rounds: int | None
    seed: int
    made_at: datetime


class Divided:
    """The parts of one shop, planned in the background from the start."""

    def __init__(
        self, scenario: Scenario, count: int, crew: Crew, share: Share, stop: Callable[[], bool]
    ) -> None:
        self._scenario = scenario
        self._crew = crew
        self._share = share
        self._stop = stop
        self._plans: list[Plan | None] = []
        self._count = count
        self._thread = threading.Thread(target=self._work, name="parts", daemon=True)
        self._thread.start()

    def _work(self) -> None:
        parts = split(self._scenario, Matcher(self._scenario), self._count)
        share = self._share
        turns = -(-len(parts) // self._crew.size)
        seconds = PARTS_SHARE * share.seconds / turns
        rounds = None if share.rounds is None else share.rounds // len(parts)
        pieces = [Piece(part, share.made_at, seconds, share.seed, rounds) for part in parts]
        self._plans = self._crew.plan(pieces, self._stop)

    def rows(self, task: Task, waiting: Callable[[], None]) -> Rows:
        """What the parts' plans have placed, as rows of the whole; what a lost part had is left out."""
        while self._thread.is_alive():
            self._thread.join(0.1)
            waiting()
        whole: list[int] = []
        celsius: list[float] = []
        jobs: list[int] = []
        pinned = {job.id for job in task.scenario.jobs if job.pinned is not None}
        for plan in self._plans:
            if plan is not None:
                rows = rows_of(task, plan, lambda planned: planned.job not in pinned)
                jobs += rows.jobs
                whole += rows.whole
                celsius += rows.celsius
        return Rows(tuple(jobs), whole, celsius)
