"""Tables of dryers and ovens."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base, part_of


class DryerRow(Base):
    """A machine that dries spools."""

    __tablename__ = "dryers"
    __table_args__ = (
        CheckConstraint("kind IN ('batch', 'rolling')", name="kind_known"),
        CheckConstraint("(kind = 'rolling') = (fixed_c IS NOT NULL)", name="fixed_c_for_rolling_only"),
        CheckConstraint("warmup_min >= 0", name="minutes_not_negative"),
    )

    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    kind: Mapped[str]
    max_c: Mapped[float]
    fixed_c: Mapped[float | None]
    vacuum: Mapped[bool]
    slots: Mapped[int]
    warmup_min: Mapped[int]


class DryerDowntimeRow(Base):
    """A stretch in which a dryer can do nothing."""

    __tablename__ = "dryer_downtime"
    __table_args__ = (part_of("dryers", ("dryer",), ("id",)),)

    dryer: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    start: Mapped[datetime]
    end: Mapped[datetime]
    reason: Mapped[str]


class OvenRow(Base):
    """An annealing oven."""

    __tablename__ = "ovens"

    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    max_c: Mapped[float]
    slots: Mapped[int]


class OvenDowntimeRow(Base):
    """A stretch in which an oven can do nothing."""

    __tablename__ = "oven_downtime"
    __table_args__ = (part_of("ovens", ("oven",), ("id",)),)

    oven: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    start: Mapped[datetime]
    end: Mapped[datetime]
    reason: Mapped[str]
