"""Quotes with their versions and what is held for them, price sheets, ended prints, resets of learning."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "quotes",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("customer", sa.Text(), nullable=False),
        sa.Column("contact", sa.Text(), nullable=False),
        sa.Column("parts", sa.Text(), nullable=False),
        sa.Column("wanted", sa.Text(), nullable=True),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("changed_at", sa.Text(), nullable=False),
        sa.Column("order", sa.Text(), nullable=True),
        sa.Column("chance", sa.Double(), nullable=True),
        sa.Column("planned_for", sa.Text(), nullable=True),
        sa.Column("promised_at", sa.Text(), nullable=True),
        sa.Column("promised_for", sa.Text(), nullable=True),
        sa.Column("valid_until", sa.Text(), nullable=True),
        sa.Column("held_until", sa.Text(), nullable=True),
        sa.Column("price_cents", sa.Integer(), nullable=True),
        sa.Column("terms", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("way", sa.Text(), nullable=True),
        sa.Column("done_at", sa.Text(), nullable=True),
        sa.Column("link_serial", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "state IN ('draft', 'sent', 'held', 'accepted', 'declined', 'expired')",
            name=op.f("ck_quotes_state_known"),
        ),
        sa.CheckConstraint(
            "(state = 'held') = (held_until IS NOT NULL)", name=op.f("ck_quotes_held_has_an_end")
        ),
        sa.CheckConstraint(
            "chance IS NULL OR (chance > 0 AND chance < 1)", name=op.f("ck_quotes_chance_possible")
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_quotes")),
    )
    op.create_index("ix_quotes_state", "quotes", ["state"], unique=False)
    op.create_table(
        "quote_versions",
        sa.Column("quote", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("version", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["quote"], ["quotes.number"], name=op.f("fk_quote_versions_quote"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("quote", "version", name=op.f("pk_quote_versions")),
    )
    op.create_table(
        "quote_things",
        sa.Column("quote", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("thing", sa.Text(), nullable=False),
        sa.CheckConstraint("kind IN ('job', 'spool')", name=op.f("ck_quote_things_kind_known")),
        sa.ForeignKeyConstraint(
            ["quote"], ["quotes.number"], name=op.f("fk_quote_things_quote"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("quote", "kind", "thing", name=op.f("pk_quote_things")),
    )
    op.create_table(
        "price_sheets",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_price_sheets")),
    )
    op.create_table(
        "print_ends",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("machine", sa.Text(), nullable=False),
        sa.Column("material", sa.Text(), nullable=False),
        sa.Column("estimated_min", sa.Double(), nullable=False),
        sa.Column("actual_min", sa.Double(), nullable=False),
        sa.Column("failed", sa.Boolean(), nullable=False),
        sa.CheckConstraint(
            "estimated_min > 0 AND actual_min >= 0", name=op.f("ck_print_ends_minutes_possible")
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_print_ends")),
    )
    op.create_index("ix_print_ends_at", "print_ends", ["at"], unique=False)
    op.create_table(
        "learning_resets",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_learning_resets")),
    )


def downgrade() -> None:
    op.drop_table("learning_resets")
    op.drop_index("ix_print_ends_at", table_name="print_ends")
    op.drop_table("print_ends")
    op.drop_table("price_sheets")
    op.drop_table("quote_things")
    op.drop_table("quote_versions")
    op.drop_index("ix_quotes_state", table_name="quotes")
    op.drop_table("quotes")
