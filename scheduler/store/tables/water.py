"""Tables of what is known of air, dryers and chambers beyond the scenario: measured, weighed, logged.

Dryers, materials, printers and spools are named and not referred to: a shop that is recorded anew keeps
what was measured on its machines.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, Date, Index
from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base


class RoomAirRow(Base):
    """One row: the humidity of each hour of the day, and whether plans use the model's figures."""

    __tablename__ = "room_air"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    by_hour_pct: Mapped[list[float]] = mapped_column(JSON)
    plan_with_model: Mapped[bool]
    longer_open: Mapped[bool]


class RoomReadingRow(Base):
    """What a humidity sensor said at an instant."""

    __tablename__ = "room_readings"
    __table_args__ = (CheckConstraint("humidity_pct >= 0 AND humidity_pct <= 100", name="humidity_possible"),)

    at: Mapped[datetime] = mapped_column(primary_key=True)
    humidity_pct: Mapped[float]
    temp_c: Mapped[float | None]


class DryerAirRow(Base):
    """What is known of a dryer's air, and its coil factor with its interval."""

    __tablename__ = "dryer_air"
    __table_args__ = (
        CheckConstraint("pressure_pa > 0 AND sherwood > 0 AND coil_factor >= 0", name="figures_possible"),
    )

    dryer: Mapped[str] = mapped_column(primary_key=True)
    dew_point_c: Mapped[float | None]
    pressure_pa: Mapped[float]
    sherwood: Mapped[float]
    coil_factor: Mapped[float]
    coil_low: Mapped[float | None]
    coil_high: Mapped[float | None]


class MaterialLimitRow(Base):
    """A shop's own limit of moisture, shortest run, thickest section and plate for a material."""

    __tablename__ = "material_limits"
    __table_args__ = (CheckConstraint("floor_h >= 0", name="floor_not_negative"),)

    material: Mapped[str] = mapped_column(primary_key=True)
    limit_pct: Mapped[float | None]
    floor_h: Mapped[float]
    thickest_mm: Mapped[float | None]
    apart_k: Mapped[float]
    plate_mm: Mapped[float | None]


class WeighingRow(Base):
    """A spool before and after a run."""

    __tablename__ = "weighings"
    __table_args__ = (
        CheckConstraint("before_g > body_g AND after_g > body_g", name="filament_left"),
        Index("ix_weighings_dryer", "dryer"),
    )

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    dryer: Mapped[str]
    spool: Mapped[str]
    polymer: Mapped[str]
    filament_mm: Mapped[float]
    before_g: Mapped[float]
    after_g: Mapped[float]
    body_g: Mapped[float]
    temp_c: Mapped[float]
    hours: Mapped[float]
    vacuum: Mapped[bool]
    stored_pct: Mapped[float]
    who: Mapped[str]


class HumidCheckRow(Base):
    """What a look at a humid week found: jobs that turn late today and in air that is more humid."""

    __tablename__ = "humid_checks"
    __table_args__ = (
        CheckConstraint(
            "today_pct >= 0 AND today_pct <= 100 AND humid_pct >= 0 AND humid_pct <= 100",
            name="humidity_possible",
        ),
    )

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    plan_number: Mapped[int]
    today_pct: Mapped[float]
    humid_pct: Mapped[float]
    late_today: Mapped[list[Any]] = mapped_column(JSON)
    late_humid: Mapped[list[Any]] = mapped_column(JSON)
    who: Mapped[str]


class ChamberLogRow(Base):
    """A chamber's log as it was fitted: figures with their intervals, and the readings used."""

    __tablename__ = "chamber_logs"
    __table_args__ = (
        CheckConstraint("kind IN ('heating', 'cooling')", name="kind_known"),
        Index("ix_chamber_logs_printer", "printer"),
    )

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    printer: Mapped[str]
    taken_on: Mapped[date] = mapped_column(Date)
    kind: Mapped[str]
    tau_min: Mapped[float]
    tau_low: Mapped[float]
    tau_high: Mapped[float]
    end_c: Mapped[float]
    end_low: Mapped[float]
    end_high: Mapped[float]
    start_c: Mapped[float]
    deviation_k: Mapped[float]
    readings: Mapped[list[Any]] = mapped_column(JSON)
    warnings: Mapped[list[Any]] = mapped_column(JSON)
    who: Mapped[str]
