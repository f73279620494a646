"""Planning runs and events."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from scheduler.store.migrations.guards import keep_rows

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "events",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("subject_kind", sa.Text(), nullable=False),
        sa.Column("subject_id", sa.Text(), nullable=False),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_events")),
    )
    op.create_index("ix_events_subject", "events", ["subject_kind", "subject_id"], unique=False)
    op.create_table(
        "planning_runs",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("requested_at", sa.Text(), nullable=False),
        sa.Column("heartbeat_at", sa.Text(), nullable=False),
        sa.Column("ended_at", sa.Text(), nullable=True),
        sa.Column("seconds", sa.Double(), nullable=False),
        sa.Column("placed", sa.Integer(), nullable=False),
        sa.Column("jobs", sa.Integer(), nullable=False),
        sa.Column("late_cost", sa.Double(), nullable=True),
        sa.Column("doing", sa.Text(), nullable=False),
        sa.Column("plan_number", sa.Integer(), nullable=True),
        sa.Column("message", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "state IN ('waiting', 'working', 'done', 'failed', 'stopped')",
            name=op.f("ck_planning_runs_state_known"),
        ),
        sa.ForeignKeyConstraint(["plan_number"], ["plans.number"], name=op.f("fk_planning_runs_plan_number")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_planning_runs")),
    )
    keep_rows("events")


def downgrade() -> None:
    op.drop_table("planning_runs")
    op.drop_index("ix_events_subject", table_name="events")
    op.drop_table("events")
