"""Records on both engines."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from scheduler.store import Record
from tests.services import (
    postgresql_database,
    postgresql_kept_database,
    postgresql_record_database,
    postgresql_server,
)

__all__ = [
    "postgresql_database",
    "postgresql_kept_database",
    "postgresql_record_database",
    "postgresql_server",
]


@pytest.fixture(params=["sqlite", "postgresql"])
def engine_name(request: pytest.FixtureRequest) -> str:
    """Each engine in turn."""
    return str(request.param)


@pytest.fixture
def empty(engine_name: str, request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Record]:
    """A record whose database has no tables yet."""
    if engine_name == "sqlite":
        record = Record(f"sqlite:///{tmp_path / 'shop.sqlite3'}")
    else:
        record = Record(request.getfixturevalue("postgresql_database"))
    yield record
    record.close()


@pytest.fixture
def record(engine_name: str, request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Record]:
    """A record without a shop."""
    if engine_name == "sqlite":
        record = Record(f"sqlite:///{tmp_path / 'shop.sqlite3'}")
        record.migrate()
    else:
        record = Record(request.getfixturevalue("postgresql_record_database"))
    yield record
    record.close()
