"""What every table shares: names of constraints, and how an instant is kept."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from functools import lru_cache
from typing import Any

from sqlalchemy import Double, ForeignKeyConstraint, Integer, MetaData, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase
from sqlalchemy.types import TypeDecorator

_OFFSET = re.compile(r"([+-])(\d\d):(\d\d)(?::(\d\d))?\Z", re.ASCII)


class Instant(TypeDecorator[datetime]):
    """An aware instant with the offset that it was given with.

    Kept as text: the instant in UTC, a space, the offset, for example
    ``2031-03-03T05:00:00 +01:00``. Both engines give back exactly what was stored, which a time
    stamp column of neither does (SQLite has none; PostgreSQL's forgets the offset), and the texts
    still sort by instant.
    """

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        if value is None:
            return None
        offset = value.utcoffset()
        if offset is None:
            raise ValueError(f"{value.isoformat()} has no offset from UTC")
        local = value.replace(tzinfo=None)
        shown_offset = value.isoformat()[len(local.isoformat()) :]
        return f"{(local - offset).isoformat()} {shown_offset}"

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        return None if value is None else _instant(value)


@lru_cache(maxsize=1024)
def _zone(offset: str) -> tzinfo:
    found = _OFFSET.match(offset)
    if found is None:
        raise ValueError(f"the record holds {offset!r} where an offset from UTC belongs")
    sign, hours, minutes, seconds = found.groups(default="0")
    east = timedelta(hours=int(hours), minutes=int(minutes), seconds=int(seconds))
    return timezone(-east if sign == "-" else east) if east else UTC


@lru_cache(maxsize=65536)
def _instant(text: str) -> datetime:
    utc, _, offset = text.partition(" ")
    return datetime.fromisoformat(utc).replace(tzinfo=UTC).astimezone(_zone(offset))


class Base(DeclarativeBase):
    """Root of the tables; every constraint has a name, so that a migration can find it."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {str: Text, float: Double, datetime: Instant, int: Integer}  # noqa: RUF012 - read by SQLAlchemy


def part_of(table: str, here: tuple[str, ...], there: tuple[str, ...]) -> ForeignKeyConstraint:
    """A key to the row that this row is a part of and goes with."""
    return ForeignKeyConstraint(here, [f"{table}.{column}" for column in there], ondelete="CASCADE")


def refers_to(table: str, here: str, there: str = "id") -> ForeignKeyConstraint:
    """A key to another thing of the shop, judged when the transaction ends."""
    return ForeignKeyConstraint([here], [f"{table}.{there}"], deferrable=True, initially="DEFERRED")
