"""The floor's rows: how things stand, which commands were taken, and the facts behind both."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, delete, insert, select, update

from scheduler.floor import CLASSES, Fact, FloorRun, Kind, Thing, Touched, from_data, to_data
from scheduler.store.events import Event, Events
from scheduler.store.rows.batch import Batch, table
from scheduler.store.tables import (
    Base,
    EventRow,
    EventSubjectRow,
    FloorCommandRow,
    FloorDryerRunRow,
    FloorJobRow,
    FloorOvenRunRow,
    FloorPrinterRow,
    FloorSpoolRow,
    FloorStateRow,
)

_ROWS: dict[Kind, type[Base]] = {
    "job": FloorJobRow,
    "printer": FloorPrinterRow,
    "spool": FloorSpoolRow,
    "dryer run": FloorDryerRunRow,
    "oven run": FloorOvenRunRow,
}


@dataclass(frozen=True, slots=True)
class FloorState:
    """Since when the floor reports, and what the published plan did not foresee.

    Parameters
    ----------
    opened_event : int
        The event with which it began.
    last_event : int
        The newest event of the floor.
    strayed_event : int
        The newest event that the published plan did not foresee; 0: none so far.
    strayed_why : str
        What it was, in words.
    publish_alone : bool
        Whether a plan made after such an event may be published with nobody looking at it.
    later_min : int
        By how much it may make a promised job later, minutes.
    """

    opened_event: int
    opened_at: datetime
    last_event: int
    strayed_event: int
    strayed_why: str
    publish_alone: bool
    later_min: int


class Floor:
    """The floor's rows, within one unit of work."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._events = Events(connection)

    def state(self) -> FloorState | None:
        """How the floor stands; ``None`` until the first report."""
        state = table(FloorStateRow)
        row = self._connection.execute(select(state)).one_or_none()
        if row is None:
            return None
        return FloorState(**{field.name: getattr(row, field.name) for field in fields(FloorState)})

    def open(self, event: int, at: datetime) -> None:
        """Begin to report."""
        self._connection.execute(
            insert(table(FloorStateRow)).values(
                id=1,
                opened_event=event,
                opened_at=at,
                last_event=event,
                strayed_event=0,
                strayed_why="",
                publish_alone=True,
                later_min=30,
            )
        )

    def close(self) -> None:
        """Forget how everything stands, because the whole shop was replaced; the events stay."""
        every: tuple[type[Base], ...] = (*_ROWS.values(), FloorCommandRow, FloorStateRow)
        for row_class in every:
            self._connection.execute(delete(table(row_class)))

    def note(self, **changes: Any) -> None:
        """Change figures of the floor's state."""
        self._connection.execute(update(table(FloorStateRow)).values(**changes))

    def read(self, kind: Kind, id: str) -> Thing | None:
        """A touched thing; ``None`` if the floor has not touched it."""
        source = table(_ROWS[kind])
        row = self._connection.execute(select(source).where(source.c.id == id)).one_or_none()
        return None if row is None else _thing(kind, row)

    def open_runs(self, kind: Kind, machine: str) -> tuple[FloorRun, ...]:
        """Runs of a dryer or oven that were not emptied yet."""
        source = table(_ROWS[kind])
        rows = self._connection.execute(
            select(source).where(source.c.machine == machine, source.c.ended_at.is_(None))
        )
        return tuple(
            run for run in (_thing(kind, row) for row in rows) if isinstance(run, FloorRun) and run.members
        )

    def save(self, kind: Kind, thing: Thing) -> None:
        """Keep how a thing stands now."""
        source = table(_ROWS[kind])
        values = _values(thing)
        done = self._connection.execute(update(source).where(source.c.id == thing.id).values(**values))
        if done.rowcount == 0:
            self._connection.execute(insert(source).values(**values))

    def save_all(self, things: Iterable[tuple[Kind, Thing]]) -> None:
        """Keep many things, none of which was kept before."""
        batch = Batch()
        for kind, thing in things:
            batch.add(_ROWS[kind], **_values(thing))
        batch.insert(self._connection)

    def touched(self) -> Touched:
        """Everything that the floor has touched."""
        things: dict[tuple[Kind, str], Thing] = {}
        for kind, row_class in _ROWS.items():
            for row in self._connection.execute(select(table(row_class))):
                things[kind, row.id] = _thing(kind, row)
        return Touched(things)

    def touched_since(self, event: int) -> tuple[tuple[Kind, str], ...]:
        """Things that later events touched."""
        subject = table(EventSubjectRow)
        rows = self._connection.execute(
            select(subject.c.kind, subject.c.id).where(subject.c.event > event).distinct()
        )
        return tuple((row.kind, row.id) for row in rows if row.kind in _ROWS)

    def append(self, fact: Fact) -> int:
        """Record a fact as an event, to be found from each thing that it touches; its number."""
        kind, id = fact.subject
        number = self._events.append(Event(fact.at, fact.kind, fact.who, kind, id, fact.data))
        batch = Batch()
        for kind, id in fact.touches:
            batch.add(EventSubjectRow, event=number, kind=kind, id=id)
        batch.insert(self._connection)
        return number

    def taken(self, key: str) -> int | None:
        """The event of a command by its key; ``None`` if it was not taken yet."""
        commands = table(FloorCommandRow)
        return self._connection.execute(
            select(commands.c.event).where(commands.c.key == key)
        ).scalar_one_or_none()

    def take(self, key: str, event: int, before: list[dict[str, Any]]) -> None:
        """Record that a command was taken."""
        self._connection.execute(
            insert(table(FloorCommandRow)).values(key=key, event=event, before=before, undone=False)
        )

    def before(self, event: int) -> tuple[list[dict[str, Any]], bool] | None:
        """How things stood before an event, and whether it was undone; ``None`` if no command led to it."""
        commands = table(FloorCommandRow)
        row = self._connection.execute(select(commands).where(commands.c.event == event)).one_or_none()
        return None if row is None else (row.before, row.undone)

    def mark_undone(self, event: int) -> None:
        """Remember that an event was taken back."""
        commands = table(FloorCommandRow)
        self._connection.execute(update(commands).where(commands.c.event == event).values(undone=True))

    def later_on(self, event: int, subjects: Iterable[tuple[str, str]]) -> Event | None:
        """The first event after ``event`` that touches one of the things; ``None`` if there is none."""
        subject, events = table(EventSubjectRow), table(EventRow)
        for kind, id in subjects:
            number = self._connection.execute(
                select(subject.c.event)
                .where(subject.c.kind == kind, subject.c.id == id, subject.c.event > event)
                .order_by(subject.c.event)
                .limit(1)
            ).scalar_one_or_none()
            if number is not None:
                row = self._connection.execute(select(events).where(events.c.number == number)).one()
                return _event(row)
        return None

    def subjects(self, event: int) -> tuple[tuple[str, str], ...]:
        """Everything that an event touched."""
        subject = table(EventSubjectRow)
        rows = self._connection.execute(select(subject.c.kind, subject.c.id).where(subject.c.event == event))
        return tuple((row.kind, row.id) for row in rows)

    def history(self, kind: str, id: str, limit: int = 200) -> tuple[Event, ...]:
        """Events that touched a thing, the newest first."""
        subject, events = table(EventSubjectRow), table(EventRow)
        rows = self._connection.execute(
            select(events)
            .join(subject, subject.c.event == events.c.number)
            .where(subject.c.kind == kind, subject.c.id == id)
            .order_by(events.c.number.desc())
            .limit(limit)
        )
        return tuple(_event(row) for row in rows)

    def facts(self, after: int = 0) -> tuple[Event, ...]:
        """The floor's own events with a higher number, in their order."""
        subject, events = table(EventSubjectRow), table(EventRow)
        floor = select(subject.c.event).distinct()
        rows = self._connection.execute(
            select(events)
            .where(events.c.number > after, events.c.number.in_(floor))
            .order_by(events.c.number)
        )
        return tuple(_event(row) for row in rows)


def _event(row: Row[Any]) -> Event:
    return Event(row.at, row.kind, row.who, row.subject_kind, row.subject_id, row.data, row.number)


def _values(thing: Thing) -> dict[str, Any]:
    """A thing's columns: instants as they are, what has parts as JSON."""
    plain = to_data(thing)
    return {
        field.name: getattr(thing, field.name)
        if isinstance(getattr(thing, field.name), datetime)
        else plain[field.name]
        for field in fields(thing)
    }


def _thing(kind: Kind, row: Row[Any]) -> Thing:
    data = {}
    for field in fields(CLASSES[kind]):
        value = getattr(row, field.name)
        data[field.name] = value.isoformat() if isinstance(value, datetime) else value
    return from_data(kind, data)
