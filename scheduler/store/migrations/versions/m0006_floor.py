"""The floor: how things stand, taken commands, what events touch, what plans were made for."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "floor_commands",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("event", sa.Integer(), nullable=False),
        sa.Column("before", sa.JSON(), nullable=False),
        sa.Column("undone", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_floor_commands")),
    )
    op.create_index("uq_floor_commands_event", "floor_commands", ["event"], unique=True)
    op.create_table(
        "floor_dryer_runs",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("machine", sa.Text(), nullable=False),
        sa.Column("temp_c", sa.Double(), nullable=False),
        sa.Column("members", sa.JSON(), nullable=False),
        sa.Column("started_at", sa.Text(), nullable=True),
        sa.Column("due_at", sa.Text(), nullable=True),
        sa.Column("ended_at", sa.Text(), nullable=True),
        sa.Column("whole", sa.Boolean(), nullable=False),
        sa.Column("assumed", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_floor_dryer_runs")),
    )
    op.create_index(op.f("ix_floor_dryer_runs_machine"), "floor_dryer_runs", ["machine"], unique=False)
    op.create_table(
        "floor_jobs",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("printer", sa.Text(), nullable=True),
        sa.Column("holder", sa.Text(), nullable=True),
        sa.Column("feeds", sa.JSON(), nullable=False),
        sa.Column("mounted", sa.JSON(), nullable=False),
        sa.Column("chamber_c", sa.Double(), nullable=False),
        sa.Column("lengths", sa.JSON(), nullable=True),
        sa.Column("pulled_at", sa.Text(), nullable=True),
        sa.Column("heated_at", sa.Text(), nullable=True),
        sa.Column("started_at", sa.Text(), nullable=True),
        sa.Column("ended_at", sa.Text(), nullable=True),
        sa.Column("unloaded_at", sa.Text(), nullable=True),
        sa.Column("oven_run", sa.Text(), nullable=True),
        sa.Column("baked_at", sa.Text(), nullable=True),
        sa.Column("closed_at", sa.Text(), nullable=True),
        sa.Column("good", sa.Integer(), nullable=False),
        sa.Column("scrapped", sa.Integer(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("replaced_by", sa.Text(), nullable=True),
        sa.Column("assumed", sa.Boolean(), nullable=False),
        sa.Column("overrides", sa.JSON(), nullable=False),
        sa.CheckConstraint(
            "state IN ('waiting', 'held', 'taken', 'heating', 'printing', 'cooling',"
            " 'off', 'baking', 'to inspect', 'rework', 'passed', 'scrapped', 'failed')",
            name=op.f("ck_floor_jobs_state_known"),
        ),
        sa.CheckConstraint("good >= 0 AND scrapped >= 0", name=op.f("ck_floor_jobs_parts_not_negative")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_floor_jobs")),
    )
    op.create_index(op.f("ix_floor_jobs_state"), "floor_jobs", ["state"], unique=False)
    op.create_table(
        "floor_oven_runs",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("machine", sa.Text(), nullable=False),
        sa.Column("temp_c", sa.Double(), nullable=False),
        sa.Column("members", sa.JSON(), nullable=False),
        sa.Column("started_at", sa.Text(), nullable=True),
        sa.Column("due_at", sa.Text(), nullable=True),
        sa.Column("ended_at", sa.Text(), nullable=True),
        sa.Column("whole", sa.Boolean(), nullable=False),
        sa.Column("assumed", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_floor_oven_runs")),
    )
    op.create_index(op.f("ix_floor_oven_runs_machine"), "floor_oven_runs", ["machine"], unique=False)
    op.create_table(
        "floor_printers",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("job", sa.Text(), nullable=True),
        sa.Column("to_clear", sa.Boolean(), nullable=False),
        sa.Column("clear_from", sa.Text(), nullable=True),
        sa.Column("down_reason", sa.Text(), nullable=True),
        sa.Column("down_since", sa.Text(), nullable=True),
        sa.Column("down_until", sa.Text(), nullable=True),
        sa.Column("chamber_c", sa.Double(), nullable=False),
        sa.Column("chamber_at", sa.Text(), nullable=True),
        sa.Column("heads", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_floor_printers")),
    )
    op.create_index("uq_floor_printers_job", "floor_printers", ["job"], unique=True)
    op.create_table(
        "floor_spools",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("place_id", sa.Text(), nullable=True),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("grams", sa.Double(), nullable=False),
        sa.Column("dried", sa.Boolean(), nullable=False),
        sa.Column("exposed_min", sa.Integer(), nullable=False),
        sa.Column("counted_at", sa.Text(), nullable=True),
        sa.Column("dried_at", sa.Text(), nullable=True),
        sa.Column("dryer_run", sa.Text(), nullable=True),
        sa.Column("last_printer", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "place IN ('store', 'dryer', 'printer')", name=op.f("ck_floor_spools_place_known")
        ),
        sa.CheckConstraint(
            "state IN ('good', 'quarantined', 'empty')", name=op.f("ck_floor_spools_state_known")
        ),
        sa.CheckConstraint("grams >= 0", name=op.f("ck_floor_spools_grams_not_negative")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_floor_spools")),
    )
    op.create_table(
        "floor_state",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("opened_event", sa.Integer(), nullable=False),
        sa.Column("opened_at", sa.Text(), nullable=False),
        sa.Column("last_event", sa.Integer(), nullable=False),
        sa.Column("strayed_event", sa.Integer(), nullable=False),
        sa.Column("strayed_why", sa.Text(), nullable=False),
        sa.Column("publish_alone", sa.Boolean(), nullable=False),
        sa.Column("later_min", sa.Integer(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_floor_state_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_floor_state")),
    )
    op.create_table(
        "event_subjects",
        sa.Column("event", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["event"], ["events.number"], name=op.f("fk_event_subjects_event"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("event", "kind", "id", name=op.f("pk_event_subjects")),
    )
    op.create_index("ix_event_subjects_kind_id", "event_subjects", ["kind", "id"], unique=False)
    op.create_table(
        "plan_bases",
        sa.Column("plan", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("event", sa.Integer(), nullable=False),
        sa.Column("packed", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(
            ["plan"], ["plans.number"], name=op.f("fk_plan_bases_plan"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("plan", name=op.f("pk_plan_bases")),
    )


def downgrade() -> None:
    op.drop_table("plan_bases")
    op.drop_index("ix_event_subjects_kind_id", table_name="event_subjects")
    op.drop_table("event_subjects")
    op.drop_table("floor_state")
    op.drop_table("floor_spools")
    op.drop_index("uq_floor_printers_job", table_name="floor_printers")
    op.drop_table("floor_printers")
    op.drop_index(op.f("ix_floor_oven_runs_machine"), table_name="floor_oven_runs")
    op.drop_table("floor_oven_runs")
    op.drop_index(op.f("ix_floor_jobs_state"), table_name="floor_jobs")
    op.drop_table("floor_jobs")
    op.drop_index(op.f("ix_floor_dryer_runs_machine"), table_name="floor_dryer_runs")
    op.drop_table("floor_dryer_runs")
    op.drop_index("uq_floor_commands_event", table_name="floor_commands")
    op.drop_table("floor_commands")
