"""Rows on their way into tables, and rows grouped by what they are a part of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from typing import Any

from sqlalchemy import Connection, Row, Table, insert, select
from sqlalchemy.sql import ColumnElement

from scheduler.store.tables import Base

#: Rows of one statement; more would only cost memory.
CHUNK = 5000


def table(row_class: type[Base]) -> Table:
    """The table that a row class declares."""
    found = row_class.__table__
    assert isinstance(found, Table)
    return found


class Batch:
    """Rows of many tables, inserted in few statements in an order that no key objects to."""

    def __init__(self) -> None:
        self._rows: dict[Table, list[dict[str, Any]]] = defaultdict(list)

    def add(self, row_class: type[Base], **values: Any) -> None:
        """Take one row."""
        self._rows[table(row_class)].append(values)

    def take(self, row_class: type[Base]) -> list[dict[str, Any]]:
        """Remove and return the rows of one table."""
        return self._rows.pop(table(row_class), [])

    def tags(self, row_class: type[Base], tags: Iterable[str], **owner: Any) -> None:
        """Take a list of words, in its order."""
        for position, tag in enumerate(tags):
            self.add(row_class, position=position, tag=tag, **owner)

    def insert(self, connection: Connection) -> None:
        """Write all rows, those that others are a part of first."""
        for target in _in_order():
            rows = self._rows.get(target, [])
            for first in range(0, len(rows), CHUNK):
                connection.execute(insert(target), rows[first : first + CHUNK])
        self._rows.clear()


@cache
def _in_order() -> tuple[Table, ...]:
    """All tables, those that others are a part of first; they are all declared when a record is opened."""
    return tuple(Base.metadata.sorted_tables)


def rows_of(
    connection: Connection, row_class: type[Base], *where: ColumnElement[bool], order: str = "position"
) -> Sequence[Row[Any]]:
    """All rows of a table that satisfy ``where``, in their recorded order."""
    source = table(row_class)
    return connection.execute(select(source).where(*where).order_by(source.c[order])).all()


def grouped(
    connection: Connection,
    row_class: type[Base],
    *by: str,
    where: tuple[ColumnElement[bool], ...] = (),
    order: str = "position",
) -> Mapping[Any, list[Row[Any]]]:
    """Rows of a table by the value (or tuple of values) of the columns ``by``, each group in order."""
    source = table(row_class)
    found = connection.execute(select(source).where(*where).order_by(source.c[order])).all()
    places = [source.c.keys().index(name) for name in by]
    groups: dict[Any, list[Row[Any]]] = defaultdict(list)
    if len(places) == 1:
        for row in found:
            groups[row[places[0]]].append(row)
    else:
        for row in found:
            groups[tuple(row[place] for place in places)].append(row)
    return groups


def tags_by(connection: Connection, row_class: type[Base], *by: str) -> Mapping[Any, tuple[str, ...]]:
    """Lists of words by what they belong to; an owner without any has the empty list."""
    groups: dict[Any, tuple[str, ...]] = defaultdict(tuple)
    for owner, rows in grouped(connection, row_class, *by).items():
        groups[owner] = tuple(row.tag for row in rows)
    return groups
