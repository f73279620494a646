"""Humidity, dryers' air, weighings, fitted logs of chambers."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "room_air",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("by_hour_pct", sa.JSON(), nullable=False),
        sa.Column("plan_with_model", sa.Boolean(), nullable=False),
        sa.Column("longer_open", sa.Boolean(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_room_air_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_room_air")),
    )
    op.create_table(
        "room_readings",
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("humidity_pct", sa.Double(), nullable=False),
        sa.Column("temp_c", sa.Double(), nullable=True),
        sa.CheckConstraint(
            "humidity_pct >= 0 AND humidity_pct <= 100", name=op.f("ck_room_readings_humidity_possible")
        ),
        sa.PrimaryKeyConstraint("at", name=op.f("pk_room_readings")),
    )
    op.create_table(
        "dryer_air",
        sa.Column("dryer", sa.Text(), nullable=False),
        sa.Column("dew_point_c", sa.Double(), nullable=True),
        sa.Column("pressure_pa", sa.Double(), nullable=False),
        sa.Column("sherwood", sa.Double(), nullable=False),
        sa.Column("coil_factor", sa.Double(), nullable=False),
        sa.Column("coil_low", sa.Double(), nullable=True),
        sa.Column("coil_high", sa.Double(), nullable=True),
        sa.CheckConstraint(
            "pressure_pa > 0 AND sherwood > 0 AND coil_factor >= 0",
            name=op.f("ck_dryer_air_figures_possible"),
        ),
        sa.PrimaryKeyConstraint("dryer", name=op.f("pk_dryer_air")),
    )
    op.create_table(
        "material_limits",
        sa.Column("material", sa.Text(), nullable=False),
        sa.Column("limit_pct", sa.Double(), nullable=True),
        sa.Column("floor_h", sa.Double(), nullable=False),
        sa.Column("thickest_mm", sa.Double(), nullable=True),
        sa.Column("apart_k", sa.Double(), nullable=False),
        sa.Column("plate_mm", sa.Double(), nullable=True),
        sa.CheckConstraint("floor_h >= 0", name=op.f("ck_material_limits_floor_not_negative")),
        sa.PrimaryKeyConstraint("material", name=op.f("pk_material_limits")),
    )
    op.create_table(
        "weighings",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("dryer", sa.Text(), nullable=False),
        sa.Column("spool", sa.Text(), nullable=False),
        sa.Column("polymer", sa.Text(), nullable=False),
        sa.Column("filament_mm", sa.Double(), nullable=False),
        sa.Column("before_g", sa.Double(), nullable=False),
        sa.Column("after_g", sa.Double(), nullable=False),
        sa.Column("body_g", sa.Double(), nullable=False),
        sa.Column("temp_c", sa.Double(), nullable=False),
        sa.Column("hours", sa.Double(), nullable=False),
        sa.Column("vacuum", sa.Boolean(), nullable=False),
        sa.Column("stored_pct", sa.Double(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.CheckConstraint("before_g > body_g AND after_g > body_g", name=op.f("ck_weighings_filament_left")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_weighings")),
    )
    op.create_index("ix_weighings_dryer", "weighings", ["dryer"], unique=False)
    op.create_table(
        "chamber_logs",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("printer", sa.Text(), nullable=False),
        sa.Column("taken_on", sa.Date(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("tau_min", sa.Double(), nullable=False),
        sa.Column("tau_low", sa.Double(), nullable=False),
        sa.Column("tau_high", sa.Double(), nullable=False),
        sa.Column("end_c", sa.Double(), nullable=False),
        sa.Column("end_low", sa.Double(), nullable=False),
        sa.Column("end_high", sa.Double(), nullable=False),
        sa.Column("start_c", sa.Double(), nullable=False),
        sa.Column("deviation_k", sa.Double(), nullable=False),
        sa.Column("readings", sa.JSON(), nullable=False),
        sa.Column("warnings", sa.JSON(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.CheckConstraint("kind IN ('heating', 'cooling')", name=op.f("ck_chamber_logs_kind_known")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_chamber_logs")),
    )
    op.create_index("ix_chamber_logs_printer", "chamber_logs", ["printer"], unique=False)


def downgrade() -> None:
    op.drop_index("ix_chamber_logs_printer", table_name="chamber_logs")
    op.drop_table("chamber_logs")
    op.drop_index("ix_weighings_dryer", table_name="weighings")
    op.drop_table("weighings")
    op.drop_table("material_limits")
    op.drop_table("dryer_air")
    op.drop_table("room_readings")
    op.drop_table("room_air")
