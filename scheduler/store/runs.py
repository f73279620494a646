"""Recorded planning runs: what was asked for, how far it has come, how it ended."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import Connection, Row, func, insert, select, update

from scheduler.store.errors import RecordRefused
from scheduler.store.rows.batch import table
from scheduler.store.tables import PlanningRunRow

RunState = Literal["waiting", "working", "done", "failed", "stopped"]

#: States of a run that has not ended.
OPEN_STATES = ("waiting", "working")


@dataclass(frozen=True, slots=True)
class PlanningRun:
    """One request for a plan.

    Parameters
    ----------
    heartbeat_at : datetime
        When its worker last gave a sign of life; before that, when it was asked for.
    seconds : float
        Time spent planning so far.
    placed, jobs : int
        Jobs that have a place so far, and all jobs.
    late_cost : float or None
        Weighted late hours of the best plan so far.
    doing : str
        What the planner is at, in words.
    plan_number : int or None
        The proposal that it made.
    message : str
        Why it failed or was stopped, in words.
    lower_bound : float or None
        Late hours that no plan can go under, as far as is known while it goes on.
    trail : tuple of (float, float)
        Seconds and the late hours of the best plan from then on, while it goes on.
    """

    id: int
    state: RunState
    requested_at: datetime
    seconds: float
    placed: int
    jobs: int
    late_cost: float | None
    doing: str
    plan_number: int | None
    message: str
    heartbeat_at: datetime
    ended_at: datetime | None
    lower_bound: float | None = None
    trail: tuple[tuple[float, float], ...] = ()


class Runs:
    """The planning runs' rows, within one unit of work."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._runs = table(PlanningRunRow)

    def create(self, at: datetime) -> int:
        """Record a waiting run; its id."""
        id = (self._connection.execute(select(func.max(self._runs.c.id))).scalar_one() or 0) + 1
        self._connection.execute(
            insert(self._runs).values(
                id=id,
                state="waiting",
                requested_at=at,
                heartbeat_at=at,
                seconds=0.0,
                placed=0,
                jobs=0,
                late_cost=None,
                doing="",
                plan_number=None,
                message="",
            )
        )
        return id

    def update(self, id: int, **figures: Any) -> None:
        """Change figures of a run by their names.

        Raises
        ------
        RecordRefused
            If there is no such run.
        """
        if figures.get("state", "waiting") not in OPEN_STATES:
            figures["course"] = None
        found = self._connection.execute(update(self._runs).where(self._runs.c.id == id).values(**figures))
        if found.rowcount == 0:
            raise RecordRefused(f"there is no planning run {id}")

    def note_course(self, id: int, lower_bound: float | None, trail: tuple[tuple[float, float], ...]) -> None:
        """Record the course of an open run; it is gone when the run ends.

        Raises
        ------
        RecordRefused
            If there is no such run.
        """
        self.update(id, course={"bound": lower_bound, "trail": trail})

    def get(self, id: int) -> PlanningRun | None:
        """A run by its id."""
        row = self._connection.execute(select(self._runs).where(self._runs.c.id == id)).one_or_none()
        return None if row is None else _run(row)

    def latest(self) -> PlanningRun | None:
        """The run that was asked for last."""
        newest = select(self._runs).order_by(self._runs.c.id.desc()).limit(1)
        row = self._connection.execute(newest).one_or_none()
        return None if row is None else _run(row)

    def open(self) -> tuple[PlanningRun, ...]:
        """Runs that have not ended, the oldest first."""
        runs = self._runs
        found = select(runs).where(runs.c.state.in_(OPEN_STATES)).order_by(runs.c.id)
        return tuple(_run(row) for row in self._connection.execute(found))


def _run(row: Row[Any]) -> PlanningRun:
    course: dict[str, Any] = row.course or {}
    return PlanningRun(
        id=row.id,
        state=row.state,
        requested_at=row.requested_at,
        seconds=row.seconds,
        placed=row.placed,
        jobs=row.jobs,
        late_cost=row.late_cost,
        doing=row.doing,
        plan_number=row.plan_number,
        message=row.message,
        heartbeat_at=row.heartbeat_at,
        ended_at=row.ended_at,
        lower_bound=course.get("bound"),
        trail=tuple((seconds, late) for seconds, late in course.get("trail", ())),
    )
