"""People, sign-ins, tries, links and tablets."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "people",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=True),
        sa.Column("pin_hash", sa.Text(), nullable=True),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "role IN ('manager', 'operator', 'front_desk', 'display')", name=op.f("ck_people_role_known")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_people")),
    )
    op.create_table(
        "sign_in_sessions",
        sa.Column("token_hash", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("way", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("used_at", sa.Text(), nullable=False),
        sa.Column("ends_at", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "way IN ('password', 'pin', 'link', 'display')", name=op.f("ck_sign_in_sessions_way_known")
        ),
        sa.ForeignKeyConstraint(["person"], ["people.id"], name=op.f("fk_sign_in_sessions_person")),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_sign_in_sessions")),
    )
    op.create_index("ix_sign_in_sessions_person", "sign_in_sessions", ["person"], unique=False)
    op.create_table(
        "sign_in_attempts",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("way", sa.Text(), nullable=False),
        sa.Column("client", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("good", sa.Boolean(), nullable=False),
        sa.CheckConstraint("way IN ('password', 'pin', 'link')", name=op.f("ck_sign_in_attempts_way_known")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_sign_in_attempts")),
    )
    op.create_index("ix_sign_in_attempts_name", "sign_in_attempts", ["name"], unique=False)
    op.create_index("ix_sign_in_attempts_client", "sign_in_attempts", ["client"], unique=False)
    op.create_table(
        "sign_in_links",
        sa.Column("token_hash", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("once", sa.Boolean(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("ends_at", sa.Text(), nullable=False),
        sa.Column("used_at", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["person"], ["people.id"], name=op.f("fk_sign_in_links_person")),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_sign_in_links")),
    )
    op.create_index("ix_sign_in_links_person", "sign_in_links", ["person"], unique=False)
    op.create_table(
        "sign_in_devices",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("token_hash", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("ends_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["person"], ["people.id"], name=op.f("fk_sign_in_devices_person")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_sign_in_devices")),
    )


def downgrade() -> None:
    op.drop_table("sign_in_devices")
    op.drop_index("ix_sign_in_links_person", table_name="sign_in_links")
    op.drop_table("sign_in_links")
    op.drop_index("ix_sign_in_attempts_client", table_name="sign_in_attempts")
    op.drop_index("ix_sign_in_attempts_name", table_name="sign_in_attempts")
    op.drop_table("sign_in_attempts")
    op.drop_index("ix_sign_in_sessions_person", table_name="sign_in_sessions")
    op.drop_table("sign_in_sessions")
    op.drop_table("people")
