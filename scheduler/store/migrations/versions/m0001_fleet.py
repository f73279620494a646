"""The shop, its machines, materials and spools."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "dryers",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("max_c", sa.Double(), nullable=False),
        sa.Column("fixed_c", sa.Double(), nullable=True),
        sa.Column("vacuum", sa.Boolean(), nullable=False),
        sa.Column("slots", sa.Integer(), nullable=False),
        sa.Column("warmup_min", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "(kind = 'rolling') = (fixed_c IS NOT NULL)", name=op.f("ck_dryers_fixed_c_for_rolling_only")
        ),
        sa.CheckConstraint("kind IN ('batch', 'rolling')", name=op.f("ck_dryers_kind_known")),
        sa.CheckConstraint("warmup_min >= 0", name=op.f("ck_dryers_minutes_not_negative")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_dryers")),
    )
    op.create_table(
        "materials",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("polymer", sa.Text(), nullable=False),
        sa.Column("filled", sa.Text(), nullable=True),
        sa.Column("filament_mm", sa.Double(), nullable=False),
        sa.Column("nozzle_lo_c", sa.Double(), nullable=False),
        sa.Column("nozzle_hi_c", sa.Double(), nullable=False),
        sa.Column("bed_lo_c", sa.Double(), nullable=False),
        sa.Column("bed_hi_c", sa.Double(), nullable=False),
        sa.Column("chamber_lo_c", sa.Double(), nullable=False),
        sa.Column("chamber_hi_c", sa.Double(), nullable=False),
        sa.Column("chamber_set_c", sa.Double(), nullable=False),
        sa.Column("abrasive", sa.Boolean(), nullable=False),
        sa.Column("corrosive", sa.Boolean(), nullable=False),
        sa.Column("needs_extraction", sa.Boolean(), nullable=False),
        sa.Column("min_nozzle_mm", sa.Double(), nullable=False),
        sa.Column("open_time_min", sa.Integer(), nullable=True),
        sa.Column("soak_min", sa.Integer(), nullable=False),
        sa.Column("release_c", sa.Double(), nullable=False),
        sa.Column("max_cool_c_per_min", sa.Double(), nullable=True),
        sa.Column("anneal_temp_c", sa.Double(), nullable=True),
        sa.Column("anneal_hours", sa.Double(), nullable=True),
        sa.CheckConstraint(
            "filled IN ('carbon', 'glass', 'mineral')", name=op.f("ck_materials_filled_known")
        ),
        sa.CheckConstraint(
            "(anneal_temp_c IS NULL) = (anneal_hours IS NULL)", name=op.f("ck_materials_anneal_whole")
        ),
        sa.CheckConstraint("bed_lo_c <= bed_hi_c", name=op.f("ck_materials_bed_window")),
        sa.CheckConstraint("chamber_lo_c <= chamber_hi_c", name=op.f("ck_materials_chamber_window")),
        sa.CheckConstraint("nozzle_lo_c <= nozzle_hi_c", name=op.f("ck_materials_nozzle_window")),
        sa.CheckConstraint(
            "open_time_min >= 0 AND soak_min >= 0", name=op.f("ck_materials_minutes_not_negative")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_materials")),
    )
    op.create_table(
        "ovens",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("max_c", sa.Double(), nullable=False),
        sa.Column("slots", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ovens")),
    )
    op.create_table(
        "printers",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("bed_max_c", sa.Double(), nullable=False),
        sa.Column("chamber_max_c", sa.Double(), nullable=True),
        sa.Column("chamber_reach_c", sa.Double(), nullable=True),
        sa.Column("heat_tau_min", sa.Double(), nullable=False),
        sa.Column("cool_tau_min", sa.Double(), nullable=False),
        sa.Column("bed_heat_min", sa.Integer(), nullable=False),
        sa.Column("bed_cool_min", sa.Integer(), nullable=False),
        sa.Column("volume_x_mm", sa.Double(), nullable=False),
        sa.Column("volume_y_mm", sa.Double(), nullable=False),
        sa.Column("volume_z_mm", sa.Double(), nullable=False),
        sa.Column("extraction", sa.Boolean(), nullable=False),
        sa.Column("unattended", sa.Boolean(), nullable=False),
        sa.Column("speed_factor", sa.Double(), nullable=False),
        sa.Column("chamber_now_c", sa.Double(), nullable=False),
        sa.Column("free_at", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "bed_heat_min >= 0 AND bed_cool_min >= 0", name=op.f("ck_printers_minutes_not_negative")
        ),
        sa.CheckConstraint(
            "heat_tau_min > 0 AND cool_tau_min > 0", name=op.f("ck_printers_time_constants_positive")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_printers")),
    )
    op.create_table(
        "record_state",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("recording", sa.Integer(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_record_state_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_record_state")),
    )
    op.create_table(
        "shifts",
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("end", sa.Text(), nullable=False),
        sa.Column("hands", sa.Integer(), nullable=False),
        sa.CheckConstraint("hands >= 0", name=op.f("ck_shifts_hands_not_negative")),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_shifts")),
    )
    op.create_table(
        "site",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("timezone", sa.Text(), nullable=False),
        sa.Column("plan_start", sa.Text(), nullable=False),
        sa.Column("ambient_c", sa.Double(), nullable=False),
        sa.Column("dry_storage", sa.Boolean(), nullable=False),
        sa.Column("start_min", sa.Integer(), nullable=False),
        sa.Column("unload_min", sa.Integer(), nullable=False),
        sa.Column("plate_min", sa.Integer(), nullable=False),
        sa.Column("spool_swap_min", sa.Integer(), nullable=False),
        sa.Column("nozzle_swap_min", sa.Integer(), nullable=False),
        sa.Column("purge_min", sa.Integer(), nullable=False),
        sa.Column("dryer_load_min", sa.Integer(), nullable=False),
        sa.Column("oven_load_min", sa.Integer(), nullable=False),
        sa.Column("freeze_min", sa.Integer(), nullable=False),
        sa.Column("move_cost_h", sa.Double(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_site_one_row")),
        sa.CheckConstraint(
            "start_min >= 0 AND unload_min >= 0 AND plate_min >= 0"
            " AND spool_swap_min >= 0 AND nozzle_swap_min >= 0 AND purge_min >= 0"
            " AND dryer_load_min >= 0 AND oven_load_min >= 0 AND freeze_min >= 0",
            name=op.f("ck_site_minutes_not_negative"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_site")),
    )
    op.create_table(
        "dryer_downtime",
        sa.Column("dryer", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("end", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["dryer"], ["dryers.id"], name=op.f("fk_dryer_downtime_dryer"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("dryer", "position", name=op.f("pk_dryer_downtime")),
    )
    op.create_table(
        "material_drying",
        sa.Column("material", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("temp_c", sa.Double(), nullable=False),
        sa.Column("hours", sa.Double(), nullable=False),
        sa.Column("vacuum", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["material"], ["materials.id"], name=op.f("fk_material_drying_material"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("material", "position", name=op.f("pk_material_drying")),
    )
    op.create_table(
        "material_surfaces",
        sa.Column("material", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("tag", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["material"], ["materials.id"], name=op.f("fk_material_surfaces_material"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("material", "position", name=op.f("pk_material_surfaces")),
    )
    op.create_table(
        "oven_downtime",
        sa.Column("oven", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("end", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["oven"], ["ovens.id"], name=op.f("fk_oven_downtime_oven"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("oven", "position", name=op.f("pk_oven_downtime")),
    )
    op.create_table(
        "printer_downtime",
        sa.Column("printer", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("end", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["printer"], ["printers.id"], name=op.f("fk_printer_downtime_printer"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("printer", "position", name=op.f("pk_printer_downtime")),
    )
    op.create_table(
        "printer_qualifications",
        sa.Column("printer", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("tag", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["printer"], ["printers.id"], name=op.f("fk_printer_qualifications_printer"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("printer", "position", name=op.f("pk_printer_qualifications")),
    )
    op.create_table(
        "printer_surfaces",
        sa.Column("printer", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("tag", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["printer"], ["printers.id"], name=op.f("fk_printer_surfaces_printer"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("printer", "position", name=op.f("pk_printer_surfaces")),
    )
    op.create_table(
        "purges",
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("target", sa.Text(), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.CheckConstraint("minutes >= 0", name=op.f("ck_purges_minutes_not_negative")),
        sa.ForeignKeyConstraint(
            ["source"], ["materials.id"], name=op.f("fk_purges_source"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["target"], ["materials.id"], name=op.f("fk_purges_target"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_purges")),
    )
    op.create_table(
        "spools",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("material", sa.Text(), nullable=False),
        sa.Column("lot", sa.Text(), nullable=False),
        sa.Column("grams", sa.Double(), nullable=False),
        sa.Column("body_max_c", sa.Double(), nullable=False),
        sa.Column("available_from", sa.Text(), nullable=False),
        sa.Column("dried", sa.Boolean(), nullable=False),
        sa.Column("exposed_min", sa.Integer(), nullable=False),
        sa.Column("own_drying", sa.Boolean(), nullable=False),
        sa.CheckConstraint("exposed_min >= 0", name=op.f("ck_spools_minutes_not_negative")),
        sa.CheckConstraint("grams >= 0", name=op.f("ck_spools_grams_not_negative")),
        sa.ForeignKeyConstraint(
            ["material"],
            ["materials.id"],
            name=op.f("fk_spools_material"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_spools")),
    )
    op.create_table(
        "heads",
        sa.Column("printer", sa.Text(), nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("max_c", sa.Double(), nullable=False),
        sa.Column("filament_mm", sa.Double(), nullable=False),
        sa.Column("dry_feed", sa.Boolean(), nullable=False),
        sa.Column("mounted_spool", sa.Text(), nullable=True),
        sa.Column("mounted_material", sa.Text(), nullable=True),
        sa.Column("mounted_nozzle", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["mounted_material"],
            ["materials.id"],
            name=op.f("fk_heads_mounted_material"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["mounted_spool"],
            ["spools.id"],
            name=op.f("fk_heads_mounted_spool"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["printer"], ["printers.id"], name=op.f("fk_heads_printer"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("printer", "id", name=op.f("pk_heads")),
    )
    op.create_table(
        "spool_certs",
        sa.Column("spool", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("tag", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["spool"], ["spools.id"], name=op.f("fk_spool_certs_spool"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("spool", "position", name=op.f("pk_spool_certs")),
    )
    op.create_table(
        "spool_drying",
        sa.Column("spool", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("temp_c", sa.Double(), nullable=False),
        sa.Column("hours", sa.Double(), nullable=False),
        sa.Column("vacuum", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["spool"], ["spools.id"], name=op.f("fk_spool_drying_spool"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("spool", "position", name=op.f("pk_spool_drying")),
    )
    op.create_table(
        "nozzles",
        sa.Column("printer", sa.Text(), nullable=False),
        sa.Column("head", sa.Text(), nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("size_mm", sa.Double(), nullable=False),
        sa.Column("hardened", sa.Boolean(), nullable=False),
        sa.Column("corrosion_proof", sa.Boolean(), nullable=False),
        sa.Column("max_c", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(
            ["printer", "head"],
            ["heads.printer", "heads.id"],
            name=op.f("fk_nozzles_printer_head"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("printer", "head", "id", name=op.f("pk_nozzles")),
    )


def downgrade() -> None:
    op.drop_table("nozzles")
    op.drop_table("spool_drying")
    op.drop_table("spool_certs")
    op.drop_table("heads")
    op.drop_table("spools")
    op.drop_table("purges")
    op.drop_table("printer_surfaces")
    op.drop_table("printer_qualifications")
    op.drop_table("printer_downtime")
    op.drop_table("oven_downtime")
    op.drop_table("material_surfaces")
    op.drop_table("material_drying")
    op.drop_table("dryer_downtime")
    op.drop_table("site")
    op.drop_table("shifts")
    op.drop_table("record_state")
    op.drop_table("printers")
    op.drop_table("ovens")
    op.drop_table("materials")
    op.drop_table("dryers")
