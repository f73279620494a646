"""Plans."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from scheduler.store.migrations.guards import drop_refusal, keep_rows, make_refusal

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_FIGURES = (
    "number",
    "scenario_version",
    "recording",
    "planned_from",
    "created_at",
    "scenario_hash",
    "made_at",
    "late_cost",
    "late_jobs",
    "unplaced",
    "attended_min",
    "preheat_min",
    "lower_bound",
    "seconds",
    "seed",
)
_CONTENT = (
    "planned_jobs",
    "planned_feeds",
    "planned_steps",
    "plan_dryer_runs",
    "plan_dryer_run_spools",
    "plan_oven_runs",
    "plan_oven_run_jobs",
    "plan_forced",
    "plan_unplaced",
    "plan_reasons",
)


def upgrade() -> None:
    op.create_table(
        "plans",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("scenario_version", sa.Integer(), nullable=False),
        sa.Column("recording", sa.Integer(), nullable=False),
        sa.Column("planned_from", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("published_at", sa.Text(), nullable=True),
        sa.Column("scenario_hash", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("late_cost", sa.Double(), nullable=False),
        sa.Column("late_jobs", sa.Integer(), nullable=False),
        sa.Column("unplaced", sa.Integer(), nullable=False),
        sa.Column("attended_min", sa.BigInteger(), nullable=False),
        sa.Column("preheat_min", sa.BigInteger(), nullable=False),
        sa.Column("lower_bound", sa.Double(), nullable=True),
        sa.Column("seconds", sa.Double(), nullable=False),
        sa.Column("seed", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "(state IN ('published', 'replaced')) = (published_at IS NOT NULL)",
            name=op.f("ck_plans_published"),
        ),
        sa.CheckConstraint(
            "state IN ('proposal', 'published', 'replaced', 'discarded')", name=op.f("ck_plans_state_known")
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_plans")),
    )
    op.create_index(
        "uq_plans_one_published",
        "plans",
        ["state"],
        unique=True,
        sqlite_where=sa.text("state = 'published'"),
        postgresql_where=sa.text("state = 'published'"),
    )
    op.create_table(
        "plan_dryer_runs",
        sa.Column("plan", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("dryer", sa.Text(), nullable=False),
        sa.Column("setpoint_c", sa.Double(), nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("end", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["plan"], ["plans.number"], name=op.f("fk_plan_dryer_runs_plan"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("plan", "position", name=op.f("pk_plan_dryer_runs")),
    )
    op.create_table(
        "plan_forced",
        sa.Column("plan", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("rule", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["plan"], ["plans.number"], name=op.f("fk_plan_forced_plan"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("plan", "position", name=op.f("pk_plan_forced")),
    )
    op.create_table(
        "plan_oven_runs",
        sa.Column("plan", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("oven", sa.Text(), nullable=False),
        sa.Column("temp_c", sa.Double(), nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("end", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["plan"], ["plans.number"], name=op.f("fk_plan_oven_runs_plan"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("plan", "position", name=op.f("pk_plan_oven_runs")),
    )
    op.create_table(
        "plan_unplaced",
        sa.Column("plan", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["plan"], ["plans.number"], name=op.f("fk_plan_unplaced_plan"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("plan", "position", name=op.f("pk_plan_unplaced")),
    )
    op.create_table(
        "planned_jobs",
        sa.Column("plan", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("printer", sa.Text(), nullable=False),
        sa.Column("chamber_c", sa.Double(), nullable=False),
        sa.Column("oven_run", sa.Text(), nullable=True),
        sa.Column("done", sa.Text(), nullable=False),
        sa.Column("late_min", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["plan"], ["plans.number"], name=op.f("fk_planned_jobs_plan"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("plan", "position", name=op.f("pk_planned_jobs")),
    )
    op.create_index("uq_planned_jobs_plan_job", "planned_jobs", ["plan", "job"], unique=True)
    op.create_table(
        "plan_dryer_run_spools",
        sa.Column("plan", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("spool", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["plan", "position"],
            ["plan_dryer_runs.plan", "plan_dryer_runs.position"],
            name=op.f("fk_plan_dryer_run_spools_plan_position"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("plan", "position", "place", name=op.f("pk_plan_dryer_run_spools")),
    )
    op.create_table(
        "plan_oven_run_jobs",
        sa.Column("plan", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["plan", "position"],
            ["plan_oven_runs.plan", "plan_oven_runs.position"],
            name=op.f("fk_plan_oven_run_jobs_plan_position"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("plan", "position", "place", name=op.f("pk_plan_oven_run_jobs")),
    )
    op.create_table(
        "plan_reasons",
        sa.Column("plan", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("check", sa.Text(), nullable=False),
        sa.Column("printer", sa.Text(), nullable=True),
        sa.Column("head", sa.Text(), nullable=True),
        sa.Column("nozzle", sa.Text(), nullable=True),
        sa.Column("asked_number", sa.Double(), nullable=True),
        sa.Column("asked_whole", sa.BigInteger(), nullable=True),
        sa.Column("asked_words", sa.Text(), nullable=True),
        sa.Column("there_number", sa.Double(), nullable=True),
        sa.Column("there_whole", sa.BigInteger(), nullable=True),
        sa.Column("there_words", sa.Text(), nullable=True),
        sa.Column("text", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["plan", "position"],
            ["plan_unplaced.plan", "plan_unplaced.position"],
            name=op.f("fk_plan_reasons_plan_position"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("plan", "position", "place", name=op.f("pk_plan_reasons")),
    )
    op.create_table(
        "planned_feeds",
        sa.Column("plan", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("feed", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("head", sa.Text(), nullable=False),
        sa.Column("nozzle", sa.Text(), nullable=False),
        sa.Column("spool", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["plan", "position"],
            ["planned_jobs.plan", "planned_jobs.position"],
            name=op.f("fk_planned_feeds_plan_position"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("plan", "position", "feed", name=op.f("pk_planned_feeds")),
    )
    op.create_table(
        "planned_steps",
        sa.Column("plan", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("step", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("end", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["plan", "position"],
            ["planned_jobs.plan", "planned_jobs.position"],
            name=op.f("fk_planned_steps_plan_position"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("plan", "position", "step", name=op.f("pk_planned_steps")),
    )
    make_refusal()
    keep_rows("plans", _FIGURES)
    for table in _CONTENT:
        keep_rows(table)


def downgrade() -> None:
    op.drop_table("planned_steps")
    op.drop_table("planned_feeds")
    op.drop_table("plan_reasons")
    op.drop_table("plan_oven_run_jobs")
    op.drop_table("plan_dryer_run_spools")
    op.drop_index("uq_planned_jobs_plan_job", table_name="planned_jobs")
    op.drop_table("planned_jobs")
    op.drop_table("plan_unplaced")
    op.drop_table("plan_oven_runs")
    op.drop_table("plan_forced")
    op.drop_table("plan_dryer_runs")
    op.drop_index(
        "uq_plans_one_published",
        table_name="plans",
        sqlite_where=sa.text("state = 'published'"),
        postgresql_where=sa.text("state = 'published'"),
    )
    op.drop_table("plans")
    drop_refusal()
