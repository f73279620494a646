"""People's rows, within one unit of work."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, func, insert, select, update

from scheduler.people import Person
from scheduler.store.errors import RecordRefused
from scheduler.store.rows.batch import table
from scheduler.store.tables import PersonRow


class People:
    """Who may sign in."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._people = table(PersonRow)

    def add(self, person: Person, at: datetime) -> None:
        """Record a new person, who has no password and no PIN yet."""
        self._connection.execute(
            insert(self._people).values(
                id=person.id,
                name=person.name,
                role=person.role,
                active=person.active,
                password_hash=None,
                pin_hash=None,
                made_at=at,
            )
        )

    def change(self, id: str, **values: Any) -> None:
        """Change columns of a person by their names; :class:`RecordRefused` if there is none."""
        changed = self._connection.execute(
            update(self._people).where(self._people.c.id == id).values(**values)
        )
        if changed.rowcount == 0:
            raise RecordRefused(f"there is no person {id}")

    def get(self, id: str) -> Person | None:
        """A person by sign-in name."""
        row = self._connection.execute(select(self._people).where(self._people.c.id == id)).one_or_none()
        return None if row is None else person_of(row)

    def list(self) -> tuple[Person, ...]:
        """All people, by name."""
        rows = self._connection.execute(select(self._people).order_by(self._people.c.name, self._people.c.id))
        return tuple(person_of(row) for row in rows)

    def hashes(self, id: str) -> tuple[str | None, str | None]:
        """The hashes of a person's password and PIN; ``None`` for what is not set."""
        columns = self._people.c.password_hash, self._people.c.pin_hash
        row = self._connection.execute(select(*columns).where(self._people.c.id == id)).one_or_none()
        return (row.password_hash, row.pin_hash) if row else (None, None)

    def count_managers(self) -> int:
        """How many active managers there are."""
        people = self._people
        wanted = select(func.count()).where(people.c.role == "manager", people.c.active)
        return int(self._connection.execute(wanted).scalar_one())


def person_of(row: Row[Any]) -> Person:
    """The person of a row that has all of its columns."""
    return Person(
        row.id, row.name, row.role, row.active, row.password_hash is not None, row.pin_hash is not None
    )
