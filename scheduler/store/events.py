"""What happened, in the order in which it happened; nothing here changes or removes an event."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, select

from scheduler.store.rows.batch import Batch, table
from scheduler.store.tables import EventRow


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened.

    Parameters
    ----------
    kind : str
        What, for example ``"job added"``.
    who : str
        The person, or the part of the system, that did it.
    subject_kind, subject_id : str
        What it happened to, for example ``"job"`` and ``"J-12"``.
    data : dict
        Figures and words of it, as JSON can carry them.
    number : int or None
        Its place in the record; ``None`` until it is recorded.
    """

    at: datetime
    kind: str
    who: str
    subject_kind: str
    subject_id: str
    data: dict[str, Any] = field(default_factory=dict)
    number: int | None = None


class Events:
    """The events' rows, within one unit of work."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._events = table(EventRow)

    def append(self, event: Event) -> int:
        """Record an event; its number."""
        return self.append_all((event,))

    def append_all(self, events: Iterable[Event]) -> int:
        """Record events in their order; the number of the last event of the record."""
        number: int = self._connection.execute(select(func.max(self._events.c.number))).scalar_one() or 0
        batch = Batch()
        for event in events:
            number += 1
            batch.add(
                EventRow,
                number=number,
                at=event.at,
                kind=event.kind,
                who=event.who,
                subject_kind=event.subject_kind,
                subject_id=event.subject_id,
                data=event.data,
            )
        batch.insert(self._connection)
        return number

    def list(self, subject: tuple[str, str] | None = None, limit: int = 100) -> tuple[Event, ...]:
        """The newest events, the newest first.

        Parameters
        ----------
        subject : tuple of (str, str), optional
            Only those of this kind of subject and this id.
        """
        events = self._events
        wanted = select(events).order_by(events.c.number.desc()).limit(limit)
        if subject is not None:
            kind, id = subject
            wanted = wanted.where(events.c.subject_kind == kind, events.c.subject_id == id)
        return tuple(
            Event(row.at, row.kind, row.who, row.subject_kind, row.subject_id, row.data, row.number)
            for row in self._connection.execute(wanted)
        )
