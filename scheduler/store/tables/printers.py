"""Tables of printers, their heads and nozzles, and when they are down."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base, part_of, refers_to


class PrinterRow(Base):
    """A material-extrusion machine."""

    __tablename__ = "printers"
    __table_args__ = (
        CheckConstraint("heat_tau_min > 0 AND cool_tau_min > 0", name="time_constants_positive"),
        CheckConstraint("bed_heat_min >= 0 AND bed_cool_min >= 0", name="minutes_not_negative"),
    )

    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    bed_max_c: Mapped[float]
    chamber_max_c: Mapped[float | None]
    chamber_reach_c: Mapped[float | None]
    heat_tau_min: Mapped[float]
    cool_tau_min: Mapped[float]
    bed_heat_min: Mapped[int]
    bed_cool_min: Mapped[int]
    volume_x_mm: Mapped[float]
    volume_y_mm: Mapped[float]
    volume_z_mm: Mapped[float]
    extraction: Mapped[bool]
    unattended: Mapped[bool]
    speed_factor: Mapped[float]
    chamber_now_c: Mapped[float]
    free_at: Mapped[datetime]


class PrinterSurfaceRow(Base):
    """A build surface that a printer has."""

    __tablename__ = "printer_surfaces"
    __table_args__ = (part_of("printers", ("printer",), ("id",)),)

    printer: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    tag: Mapped[str]


class PrinterQualificationRow(Base):
    """What a printer is qualified for."""

    __tablename__ = "printer_qualifications"
    __table_args__ = (part_of("printers", ("printer",), ("id",)),)

    printer: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    tag: Mapped[str]


class PrinterDowntimeRow(Base):
    """A stretch in which a printer can do nothing."""

    __tablename__ = "printer_downtime"
    __table_args__ = (part_of("printers", ("printer",), ("id",)),)

    printer: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    start: Mapped[datetime]
    end: Mapped[datetime]
    reason: Mapped[str]


class HeadRow(Base):
    """An extruder of a printer and what was last on it."""

    __tablename__ = "heads"
    __table_args__ = (
        part_of("printers", ("printer",), ("id",)),
        refers_to("spools", "mounted_spool"),
        refers_to("materials", "mounted_material"),
    )

    printer: Mapped[str] = mapped_column(primary_key=True)
    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    max_c: Mapped[float]
    filament_mm: Mapped[float]
    dry_feed: Mapped[bool]
    mounted_spool: Mapped[str | None]
    mounted_material: Mapped[str | None]
    mounted_nozzle: Mapped[str | None]


class NozzleRow(Base):
    """A nozzle that lies ready for a head."""

    __tablename__ = "nozzles"
    __table_args__ = (part_of("heads", ("printer", "head"), ("printer", "id")),)

    printer: Mapped[str] = mapped_column(primary_key=True)
    head: Mapped[str] = mapped_column(primary_key=True)
    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    size_mm: Mapped[float]
    hardened: Mapped[bool]
    corrosion_proof: Mapped[bool]
    max_c: Mapped[float]
