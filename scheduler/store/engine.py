"""Connections to the two databases, set up so that no committed change is ever lost."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.engine import URL
from sqlalchemy.exc import (
    ArgumentError,
    DataError,
    DBAPIError,
    IntegrityError,
    InterfaceError,
    OperationalError,
    StatementError,
)

from scheduler.store.errors import RecordBusy, RecordError, RecordRefused, RecordUnreachable

#: How long a unit of work waits for another one to end, seconds.
BUSY_S = 30

#: Names the lock that writers of one PostgreSQL database take in turn ("soak" in ASCII).
_WRITERS_LOCK = 0x736F616B

_WRITES = "soakline_writes"


def wal_is_safe(version: tuple[int, int, int]) -> bool:
    """True if write-ahead logging of this SQLite can't lose committed data.

    SQLite 3.7.0 to 3.51.2 can, when two connections write and checkpoint at once; mended in
    3.51.3 and, for older lines, in 3.50.7 and 3.44.6 (sqlite.org/wal.html, "the WAL-reset bug").
    """
    if version >= (3, 51, 3):
        return True
    return version[:2] in ((3, 50), (3, 44)) and version >= {50: (3, 50, 7), 44: (3, 44, 6)}[version[1]]


def parse_url(text: str) -> URL:
    """The address of a database; SQLite needs a file, PostgreSQL is spoken to with psycopg 3.

    Raises
    ------
    RecordUnreachable
        If no database that Soakline knows has such an address.
    """
    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        raise RecordUnreachable(
            f"the database address {_shown(text)} can't be read;"
            " write sqlite:///FILE or postgresql://USER@HOST/NAME"
        ) from None
    backend = url.get_backend_name()
    if backend == "postgres":
        backend = "postgresql"
    if backend == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    if backend != "sqlite":
        raise RecordUnreachable(
            f"the database address {_shown(text)} names {backend};"
            " Soakline keeps its record in SQLite or PostgreSQL"
        )
    if not url.database or url.database == ":memory:":
        raise RecordUnreachable("the record needs a file: write sqlite:///FILE")
    return url


def _shown(text: str) -> str:
    """An address without the password that it may hold."""
    scheme, separator, rest = text.partition("://")
    return scheme + separator + rest.rpartition("@")[2]


def make_engine(url: URL) -> Engine:
    """An engine whose transactions begin as the record needs them; connects only when used."""
    if url.get_backend_name() == "sqlite":
        engine = create_engine(url, connect_args={"timeout": BUSY_S, "check_same_thread": False})
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    else:
        # A connection that the server has closed meanwhile is replaced rather than reported.
        engine = create_engine(url, pool_pre_ping=True, connect_args={"connect_timeout": 10})
        event.listen(engine, "begin", _begin_postgresql)
    return engine


def _prepare_sqlite(connection: sqlite3.Connection, _: Any) -> None:
    # The driver's own transactions begin too late: two units that read, then write, would both
    # believe what they read. With this it begins none, and `_begin_sqlite` does.
    connection.isolation_level = None
    connection.execute("PRAGMA foreign_keys = ON")
    if wal_is_safe(sqlite3.sqlite_version_info[:3]):
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = NORMAL")
    else:
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute("PRAGMA synchronous = FULL")


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get(_WRITES, False)
    connection.exec_driver_sql(f"PRAGMA query_only = {'OFF' if writes else 'ON'}")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _begin_postgresql(connection: Connection) -> None:
    if not connection.get_execution_options().get(_WRITES, False):
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        return
    connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{BUSY_S}s'")
    # As with SQLite, writers go one by one, so that what a unit has read still stands when it writes.
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_WRITERS_LOCK})")


@contextmanager
def transaction(engine: Engine, *, writes: bool) -> Iterator[Connection]:
    """A connection in a transaction, committed at a normal end, rolled back at an error.

    Raises
    ------
    RecordError
        For what the database reports, in plain words.
    """
    try:
        with engine.connect().execution_options(**{_WRITES: writes}) as connection, connection.begin():
            yield connection
    except (DBAPIError, StatementError, OverflowError, UnicodeEncodeError) as error:
        raise _in_words(error, engine.url) from error


def _in_words(error: Exception, url: URL) -> RecordError:
    cause = str(getattr(error, "orig", None) or error).strip().splitlines()[0]
    if isinstance(error, IntegrityError):
        return RecordRefused(f"the database refused the change, nothing was stored: {cause}")
    if isinstance(error, (DataError, OverflowError, UnicodeEncodeError)):
        return RecordRefused(f"a value does not fit the database, nothing was stored: {cause}")
    if isinstance(error, (OperationalError, InterfaceError)):
        if "locked" in cause or "lock timeout" in cause:
            return RecordBusy(f"another process kept the record for more than {BUSY_S} s; try again")
        if "no such table" in cause:
            return RecordUnreachable(
                f"{place(url)} holds no record yet; `soakline import SCENARIO` makes one"
            )
        return RecordUnreachable(f"the database {place(url)} can't be used: {cause}")
    if "does not exist" in cause:
        return _no_tables(url)
    return RecordError(f"the database {place(url)} reported: {cause}")


def _no_tables(url: URL) -> RecordUnreachable:
    return RecordUnreachable(f"{place(url)} holds no record yet; `soakline import SCENARIO` makes one")


def place(url: URL) -> str:
    """Where a database is, without its password."""
    if url.get_backend_name() == "sqlite":
        return str(Path(url.database or ""))
    return url.set(drivername=url.get_backend_name()).render_as_string(hide_password=True)
