"""Tables of the shop itself, its people's hours, and the count of its changes."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base


class RecordStateRow(Base):
    """One row: how often the shop was changed, and how often it was replaced as a whole."""

    __tablename__ = "record_state"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    version: Mapped[int]
    recording: Mapped[int]


class SiteRow(Base):
    """One row: the shop's fixed figures."""

    __tablename__ = "site"
    __table_args__ = (
        CheckConstraint("id = 1", name="one_row"),
        CheckConstraint(
            "start_min >= 0 AND unload_min >= 0 AND plate_min >= 0 AND spool_swap_min >= 0"
            " AND nozzle_swap_min >= 0 AND purge_min >= 0 AND dryer_load_min >= 0"
            " AND oven_load_min >= 0 AND freeze_min >= 0",
            name="minutes_not_negative",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    name: Mapped[str]
    timezone: Mapped[str]
    plan_start: Mapped[datetime]
    ambient_c: Mapped[float]
    dry_storage: Mapped[bool]
    start_min: Mapped[int]
    unload_min: Mapped[int]
    plate_min: Mapped[int]
    spool_swap_min: Mapped[int]
    nozzle_swap_min: Mapped[int]
    purge_min: Mapped[int]
    dryer_load_min: Mapped[int]
    oven_load_min: Mapped[int]
    freeze_min: Mapped[int]
    move_cost_h: Mapped[float]


class ShiftRow(Base):
    """A window in which people are there."""

    __tablename__ = "shifts"
    __table_args__ = (CheckConstraint("hands >= 0", name="hands_not_negative"),)

    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    start: Mapped[datetime]
    end: Mapped[datetime]
    hands: Mapped[int]
