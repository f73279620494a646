"""How one concept of the shop lies in its tables."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

from sqlalchemy import Connection, delete, func, select, update

from scheduler.store.rows.batch import Batch, table
from scheduler.store.tables import Base

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Concept(Generic[T]):
    """A kind of thing with an ``id``: one row in its main table, more in the tables of its parts.

    Parameters
    ----------
    main : type of row
        Its table has the columns ``id`` and ``position``.
    parts : tuple of (type of row, str)
        Tables whose rows go with the thing, and their column that names it; parts of parts are
        deleted with the part.
    write : callable
        Adds the rows of a thing at a position to a batch.
    read : callable
        All recorded things, in their order.
    """

    main: type[Base]
    parts: tuple[tuple[type[Base], str], ...]
    write: Callable[[Batch, T, int], None]
    read: Callable[[Connection], tuple[T, ...]]

    def write_all(self, batch: Batch, things: tuple[T, ...]) -> None:
        """Add the rows of all ``things``, in their order."""
        for position, thing in enumerate(things):
            self.write(batch, thing, position)

    def save(self, connection: Connection, id: str, thing: T) -> bool:
        """Change the thing with this id in its place, or add it at the end; True if it is new."""
        main = table(self.main)
        position = connection.execute(select(main.c.position).where(main.c.id == id)).scalar_one_or_none()
        batch = Batch()
        if position is None:
            last = connection.execute(select(func.max(main.c.position))).scalar_one()
            self.write(batch, thing, 0 if last is None else last + 1)
        else:
            self.write(batch, thing, position)
            for row_class, owner in self.parts:
                part = table(row_class)
                connection.execute(delete(part).where(part.c[owner] == id))
            (values,) = batch.take(self.main)
            connection.execute(update(main).where(main.c.id == id).values(**values))
        batch.insert(connection)
        return position is None

    def save_all(self, connection: Connection, things: tuple[tuple[str, T], ...]) -> None:
        """As :meth:`save` for many things with their ids; new ones in few statements."""
        main = table(self.main)
        known = set(connection.execute(select(main.c.id)).scalars())
        for id, thing in things:
            if id in known:
                self.save(connection, id, thing)
        last = connection.execute(select(func.max(main.c.position))).scalar_one()
        first = 0 if last is None else last + 1
        batch = Batch()
        for position, thing in enumerate((thing for id, thing in things if id not in known), start=first):
            self.write(batch, thing, position)
        batch.insert(connection)

    def remove(self, connection: Connection, id: str) -> bool:
        """Remove the thing and its parts; False if there is none."""
        main = table(self.main)
        return connection.execute(delete(main).where(main.c.id == id)).rowcount > 0
