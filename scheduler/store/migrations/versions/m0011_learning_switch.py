"""Whether dates follow what was learnt, and the course of an open planning run."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "learning_switches",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("used", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_learning_switches")),
    )
    op.add_column("planning_runs", sa.Column("course", sa.JSON(), nullable=True))
    # An open run's course stood in the place of its message.
    op.execute(sa.text("UPDATE planning_runs SET message = '' WHERE state IN ('waiting', 'working')"))


def downgrade() -> None:
    op.drop_column("planning_runs", "course")
    op.drop_table("learning_switches")
