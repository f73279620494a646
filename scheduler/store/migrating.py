"""Bringing a database's tables to another form, with Alembic."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

from scheduler.store.errors import RecordError


def _config(connection: Connection | None = None) -> Config:
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.attributes["connection"] = connection
    return config


@lru_cache(maxsize=1)
def newest() -> str:
    """The newest revision in this version of Soakline."""
    head = ScriptDirectory.from_config(_config()).get_current_head()
    assert head is not None
    return head


def present(connection: Connection) -> str | None:
    """The revision that a database is at; ``None`` if it has no tables of ours."""
    return MigrationContext.configure(connection).get_current_revision()


def _refuse_unknown(connection: Connection) -> None:
    here = present(connection)
    known = {script.revision for script in ScriptDirectory.from_config(_config()).walk_revisions()}
    if here is not None and here not in known:
        raise RecordError(
            f"the record was made by a newer Soakline (its tables are at {here}); install that version"
        )


def upgrade(connection: Connection, revision: str = "head") -> None:
    """Move the tables forward, within the connection's transaction."""
    _refuse_unknown(connection)
    command.upgrade(_config(connection), revision)


def downgrade(connection: Connection, revision: str = "base") -> None:
    """Move the tables back, within the connection's transaction; what newer tables held is lost."""
    _refuse_unknown(connection)
    command.downgrade(_config(connection), revision)
