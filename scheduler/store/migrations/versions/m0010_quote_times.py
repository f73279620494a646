"""Overtime that a hold added, and print times that are planned otherwise than estimated."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "quote_shifts",
        sa.Column("quote", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("end", sa.Text(), nullable=False),
        sa.Column("hands", sa.Integer(), nullable=False),
        sa.CheckConstraint("hands > 0", name=op.f("ck_quote_shifts_hands_above_zero")),
        sa.ForeignKeyConstraint(
            ["quote"], ["quotes.number"], name=op.f("fk_quote_shifts_quote"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("quote", "start", "end", name=op.f("pk_quote_shifts")),
    )
    op.create_table(
        "planned_times",
        sa.Column("order", sa.Text(), nullable=False),
        sa.Column("material", sa.Text(), nullable=False),
        sa.Column("factor", sa.Double(), nullable=False),
        sa.CheckConstraint("factor > 0", name=op.f("ck_planned_times_factor_above_zero")),
        sa.PrimaryKeyConstraint("order", "material", name=op.f("pk_planned_times")),
    )


def downgrade() -> None:
    op.drop_table("planned_times")
    op.drop_table("quote_shifts")
