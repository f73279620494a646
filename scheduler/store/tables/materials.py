"""Tables of materials, their drying recipes and the purges between them."""

from __future__ import annotations

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base, part_of, refers_to


class MaterialRow(Base):
    """A polymer as the shop buys it."""

    __tablename__ = "materials"
    __table_args__ = (
        CheckConstraint("filled IN ('carbon', 'glass', 'mineral')", name="filled_known"),
        CheckConstraint("nozzle_lo_c <= nozzle_hi_c", name="nozzle_window"),
        CheckConstraint("bed_lo_c <= bed_hi_c", name="bed_window"),
        CheckConstraint("chamber_lo_c <= chamber_hi_c", name="chamber_window"),
        CheckConstraint("(anneal_temp_c IS NULL) = (anneal_hours IS NULL)", name="anneal_whole"),
        CheckConstraint("open_time_min >= 0 AND soak_min >= 0", name="minutes_not_negative"),
    )

    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    polymer: Mapped[str]
    filled: Mapped[str | None]
    filament_mm: Mapped[float]
    nozzle_lo_c: Mapped[float]
    nozzle_hi_c: Mapped[float]
    bed_lo_c: Mapped[float]
    bed_hi_c: Mapped[float]
    chamber_lo_c: Mapped[float]
    chamber_hi_c: Mapped[float]
    chamber_set_c: Mapped[float]
    abrasive: Mapped[bool]
    corrosive: Mapped[bool]
    needs_extraction: Mapped[bool]
    min_nozzle_mm: Mapped[float]
    open_time_min: Mapped[int | None]
    soak_min: Mapped[int]
    release_c: Mapped[float]
    max_cool_c_per_min: Mapped[float | None]
    anneal_temp_c: Mapped[float | None]
    anneal_hours: Mapped[float | None]


class MaterialSurfaceRow(Base):
    """A build surface that a material sticks to."""

    __tablename__ = "material_surfaces"
    __table_args__ = (part_of("materials", ("material",), ("id",)),)

    material: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    tag: Mapped[str]


class MaterialDryingRow(Base):
    """A recipe that dries a material."""

    __tablename__ = "material_drying"
    __table_args__ = (part_of("materials", ("material",), ("id",)),)

    material: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    temp_c: Mapped[float]
    hours: Mapped[float]
    vacuum: Mapped[bool]


class PurgeRow(Base):
    """Minutes to purge one material out of a head before the next."""

    __tablename__ = "purges"
    __table_args__ = (
        refers_to("materials", "source"),
        refers_to("materials", "target"),
        CheckConstraint("minutes >= 0", name="minutes_not_negative"),
    )

    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    source: Mapped[str]
    target: Mapped[str]
    minutes: Mapped[int]
