"""Runs migrations on the connection that the record hands over, in that connection's transaction."""

from __future__ import annotations

from alembic import context

from scheduler.store.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
