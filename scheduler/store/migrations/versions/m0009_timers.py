"""Timers with their leases; what the weekly look at humid days found."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "timers",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("served_for", sa.Text(), nullable=True),
        sa.Column("ended_at", sa.Text(), nullable=True),
        sa.Column("failed", sa.Text(), nullable=False),
        sa.Column("leased_by", sa.Text(), nullable=True),
        sa.Column("leased_until", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_timers")),
    )
    op.create_table(
        "humid_checks",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("plan_number", sa.Integer(), nullable=False),
        sa.Column("today_pct", sa.Double(), nullable=False),
        sa.Column("humid_pct", sa.Double(), nullable=False),
        sa.Column("late_today", sa.JSON(), nullable=False),
        sa.Column("late_humid", sa.JSON(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "today_pct >= 0 AND today_pct <= 100 AND humid_pct >= 0 AND humid_pct <= 100",
            name=op.f("ck_humid_checks_humidity_possible"),
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_humid_checks")),
    )


def downgrade() -> None:
    op.drop_table("humid_checks")
    op.drop_table("timers")
