"""Timers within one unit of work: what was served, and the lease that keeps two from serving at once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, insert, select

from scheduler.store.errors import RecordRefused
from scheduler.store.rows.batch import table
from scheduler.store.tables import TimerRow


@dataclass(frozen=True, slots=True)
class TimerState:
    """How a timer stands.

    Parameters
    ----------
    served_for : datetime or None
        The newest due instant whose work has ended.
    ended_at : datetime or None
        When that was.
    failed : str
        Why that work came to nothing, in words; empty if it went well.
    leased_by, leased_until : str and datetime, or None
        Who serves the timer at present, and until when nobody else may.
    """

    served_for: datetime | None = None
    ended_at: datetime | None = None
    failed: str = ""
    leased_by: str | None = None
    leased_until: datetime | None = None


class Timers:
    """The timers' rows."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._timers = table(TimerRow)

    def get(self, name: str) -> TimerState:
        """A timer's state; one that never ran has nothing in it."""
        row = self._connection.execute(select(self._timers).where(self._timers.c.name == name)).one_or_none()
        if row is None:
            return TimerState()
        return TimerState(row.served_for, row.ended_at, row.failed, row.leased_by, row.leased_until)

    def claim(self, name: str, due: datetime, now: datetime, until: datetime, who: str) -> bool:
        """Take the lease on a due instant; False if it was served or somebody else is at it."""
        known = self.get(name)
        if not may_claim(known, due, now):
            return False
        self._save(name, TimerState(known.served_for, known.ended_at, known.failed, who, until))
        return True

    def finish(self, name: str, due: datetime, now: datetime, who: str, failed: str = "") -> None:
        """Note that a due instant is served and give the lease back.

        Raises
        ------
        RecordRefused
            If the lease has run out and somebody else took it: what was worked out must not be stored.
        """
        if self.get(name).leased_by != who:
            raise RecordRefused(f"the timer {name!r} took too long and was taken up by somebody else")
        self._save(name, TimerState(due, now, failed))

    def _save(self, name: str, state: TimerState) -> None:
        self._connection.execute(delete(self._timers).where(self._timers.c.name == name))
        self._connection.execute(
            insert(self._timers).values(
                name=name,
                served_for=state.served_for,
                ended_at=state.ended_at,
                failed=state.failed,
                leased_by=state.leased_by,
                leased_until=state.leased_until,
            )
        )


def may_claim(state: TimerState, due: datetime, now: datetime) -> bool:
    """Whether a due instant still waits for somebody to serve it."""
    if state.served_for is not None and state.served_for >= due:
        return False
    return state.leased_until is None or state.leased_until <= now
