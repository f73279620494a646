"""The count of the recorded shop's changes."""

from __future__ import annotations

from sqlalchemy import Connection, insert, select, update

from scheduler.store.rows.batch import table
from scheduler.store.tables import RecordStateRow


def shop_state(connection: Connection) -> tuple[int, int]:
    """How often the shop was changed, and how often it was replaced as a whole."""
    state = table(RecordStateRow)
    row = connection.execute(select(state.c.version, state.c.recording)).one_or_none()
    return (row.version, row.recording) if row else (0, 0)


def count_change(connection: Connection, *, replaced: bool = False) -> None:
    """Make the version one larger; also the count of recordings if the whole shop was replaced."""
    state = table(RecordStateRow)
    version, recording = shop_state(connection)
    values = {"version": version + 1, "recording": recording + replaced}
    if version == 0:
        connection.execute(insert(state).values(id=1, **values))
    else:
        connection.execute(update(state).values(**values))
