"""Records on both engines."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from scheduler.store import Record
from tests.services import postgresql_database, postgresql_server

__all__ = ["postgresql_database", "postgresql_server"]


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of an empty database, on each engine in turn."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'shop.sqlite3'}"
    url = request.getfixturevalue("postgresql_database")
    assert isinstance(url, str)
    return url


@pytest.fixture
def empty(database_url: str) -> Iterator[Record]:
    """A record whose database has no tables yet."""
    record = Record(database_url)
    yield record
    record.close()


@pytest.fixture
def record(empty: Record) -> Record:
    """A record without a shop."""
    empty.migrate()
    return empty
