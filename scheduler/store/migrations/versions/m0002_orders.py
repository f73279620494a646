"""Orders, jobs and begun work."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "orders",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("customer", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("confidential", sa.Boolean(), nullable=False),
        sa.Column("placed_at", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_orders")),
    )
    op.create_table(
        "dryer_runs",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("dryer", sa.Text(), nullable=False),
        sa.Column("setpoint_c", sa.Double(), nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("end", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["dryer"], ["dryers.id"], name=op.f("fk_dryer_runs_dryer"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_dryer_runs")),
    )
    op.create_table(
        "jobs",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("order", sa.Text(), nullable=False),
        sa.Column("part", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("print_min", sa.Integer(), nullable=False),
        sa.Column("size_x_mm", sa.Double(), nullable=False),
        sa.Column("size_y_mm", sa.Double(), nullable=False),
        sa.Column("size_z_mm", sa.Double(), nullable=False),
        sa.Column("anneal", sa.Boolean(), nullable=False),
        sa.Column("finish_min", sa.Integer(), nullable=False),
        sa.Column("release", sa.Text(), nullable=False),
        sa.Column("due", sa.Text(), nullable=True),
        sa.Column("weight", sa.Double(), nullable=False),
        sa.Column("same_lot_as", sa.Text(), nullable=True),
        sa.Column("pinned_printer", sa.Text(), nullable=True),
        sa.Column("pinned_print_start", sa.Text(), nullable=True),
        sa.Column("progress_printer", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(pinned_printer IS NULL) = (pinned_print_start IS NULL)", name=op.f("ck_jobs_pin_whole")
        ),
        sa.CheckConstraint("print_min >= 0 AND finish_min >= 0", name=op.f("ck_jobs_minutes_not_negative")),
        sa.ForeignKeyConstraint(
            ["order"], ["orders.id"], name=op.f("fk_jobs_order"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["pinned_printer"],
            ["printers.id"],
            name=op.f("fk_jobs_pinned_printer"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["progress_printer"],
            ["printers.id"],
            name=op.f("fk_jobs_progress_printer"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["same_lot_as"],
            ["jobs.id"],
            name=op.f("fk_jobs_same_lot_as"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_jobs")),
    )
    op.create_index(op.f("ix_jobs_order"), "jobs", ["order"], unique=False)
    op.create_index(op.f("ix_jobs_same_lot_as"), "jobs", ["same_lot_as"], unique=False)
    op.create_table(
        "oven_runs",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("oven", sa.Text(), nullable=False),
        sa.Column("temp_c", sa.Double(), nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("end", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["oven"], ["ovens.id"], name=op.f("fk_oven_runs_oven"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_oven_runs")),
    )
    op.create_table(
        "dryer_run_spools",
        sa.Column("run", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("spool", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["run"], ["dryer_runs.id"], name=op.f("fk_dryer_run_spools_run"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["spool"],
            ["spools.id"],
            name=op.f("fk_dryer_run_spools_spool"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("run", "position", name=op.f("pk_dryer_run_spools")),
    )
    op.create_table(
        "feeds",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("material", sa.Text(), nullable=False),
        sa.Column("grams", sa.Double(), nullable=False),
        sa.CheckConstraint("grams >= 0", name=op.f("ck_feeds_grams_not_negative")),
        sa.CheckConstraint("position IN (0, 1)", name=op.f("ck_feeds_one_or_two")),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name=op.f("fk_feeds_job"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["material"],
            ["materials.id"],
            name=op.f("fk_feeds_material"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("job", "position", name=op.f("pk_feeds")),
    )
    op.create_table(
        "job_qualifications",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("tag", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["job"], ["jobs.id"], name=op.f("fk_job_qualifications_job"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("job", "position", name=op.f("pk_job_qualifications")),
    )
    op.create_table(
        "oven_run_jobs",
        sa.Column("run", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["job"], ["jobs.id"], name=op.f("fk_oven_run_jobs_job"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["run"], ["oven_runs.id"], name=op.f("fk_oven_run_jobs_run"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("run", "position", name=op.f("pk_oven_run_jobs")),
    )
    op.create_table(
        "progress_feeds",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("head", sa.Text(), nullable=False),
        sa.Column("nozzle", sa.Text(), nullable=False),
        sa.Column("spool", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name=op.f("fk_progress_feeds_job"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["spool"],
            ["spools.id"],
            name=op.f("fk_progress_feeds_spool"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("job", "position", name=op.f("pk_progress_feeds")),
    )
    op.create_table(
        "progress_steps",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("end", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name=op.f("fk_progress_steps_job"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("job", "position", name=op.f("pk_progress_steps")),
    )
    op.create_table(
        "feed_certs",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("feed", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("tag", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["job", "feed"],
            ["feeds.job", "feeds.position"],
            name=op.f("fk_feed_certs_job_feed"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("job", "feed", "position", name=op.f("pk_feed_certs")),
    )
    op.create_table(
        "feed_nozzles",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("feed", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("size_mm", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(
            ["job", "feed"],
            ["feeds.job", "feeds.position"],
            name=op.f("fk_feed_nozzles_job_feed"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("job", "feed", "position", name=op.f("pk_feed_nozzles")),
    )


def downgrade() -> None:
    op.drop_table("feed_nozzles")
    op.drop_table("feed_certs")
    op.drop_table("progress_steps")
    op.drop_table("progress_feeds")
    op.drop_table("oven_run_jobs")
    op.drop_table("job_qualifications")
    op.drop_table("feeds")
    op.drop_table("dryer_run_spools")
    op.drop_table("oven_runs")
    op.drop_index(op.f("ix_jobs_same_lot_as"), table_name="jobs")
    op.drop_index(op.f("ix_jobs_order"), table_name="jobs")
    op.drop_table("jobs")
    op.drop_table("dryer_runs")
    op.drop_table("orders")
