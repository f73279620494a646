"""Tables of the floor: how each touched thing stands, and which commands were taken."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, Index, LargeBinary
from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base, part_of


class FloorJobRow(Base):
    """A job as the floor knows it."""

    __tablename__ = "floor_jobs"
    __table_args__ = (
        CheckConstraint(
            "state IN ('waiting', 'held', 'taken', 'heating', 'printing', 'cooling', 'off', 'baking',"
            " 'to inspect', 'rework', 'passed', 'scrapped', 'failed')",
            name="state_known",
        ),
        CheckConstraint("good >= 0 AND scrapped >= 0", name="parts_not_negative"),
    )

    id: Mapped[str] = mapped_column(primary_key=True)
    version: Mapped[int]
    state: Mapped[str] = mapped_column(index=True)
    printer: Mapped[str | None]
    holder: Mapped[str | None]
    feeds: Mapped[list[Any]] = mapped_column(JSON)
    mounted: Mapped[list[Any]] = mapped_column(JSON)
    chamber_c: Mapped[float]
    lengths: Mapped[dict[str, Any] | None] = mapped_column(JSON)
    pulled_at: Mapped[datetime | None]
    heated_at: Mapped[datetime | None]
    started_at: Mapped[datetime | None]
    ended_at: Mapped[datetime | None]
    unloaded_at: Mapped[datetime | None]
    oven_run: Mapped[str | None]
    baked_at: Mapped[datetime | None]
    closed_at: Mapped[datetime | None]
    good: Mapped[int]
    scrapped: Mapped[int]
    cause: Mapped[str]
    replaced_by: Mapped[str | None]
    assumed: Mapped[bool]
    overrides: Mapped[list[Any]] = mapped_column(JSON)


class FloorPrinterRow(Base):
    """A machine as the floor knows it; no job is on two of them."""

    __tablename__ = "floor_printers"
    __table_args__ = (Index("uq_floor_printers_job", "job", unique=True),)

    id: Mapped[str] = mapped_column(primary_key=True)
    version: Mapped[int]
    job: Mapped[str | None]
    to_clear: Mapped[bool]
    clear_from: Mapped[datetime | None]
    down_reason: Mapped[str | None]
    down_since: Mapped[datetime | None]
    down_until: Mapped[datetime | None]
    chamber_c: Mapped[float]
    chamber_at: Mapped[datetime | None]
    heads: Mapped[list[Any]] = mapped_column(JSON)


class FloorSpoolRow(Base):
    """A spool as the floor knows it."""

    __tablename__ = "floor_spools"
    __table_args__ = (
        CheckConstraint("place IN ('store', 'dryer', 'printer')", name="place_known"),
        CheckConstraint("state IN ('good', 'quarantined', 'empty')", name="state_known"),
        CheckConstraint("grams >= 0", name="grams_not_negative"),
    )

    id: Mapped[str] = mapped_column(primary_key=True)
    version: Mapped[int]
    place: Mapped[str]
    place_id: Mapped[str | None]
    state: Mapped[str]
    grams: Mapped[float]
    dried: Mapped[bool]
    exposed_min: Mapped[int]
    counted_at: Mapped[datetime | None]
    dried_at: Mapped[datetime | None]
    dryer_run: Mapped[str | None]
    last_printer: Mapped[str | None]
    note: Mapped[str]


class _FloorRun:
    """Columns of a run as the floor knows it."""

    id: Mapped[str] = mapped_column(primary_key=True)
    version: Mapped[int]
    machine: Mapped[str] = mapped_column(index=True)
    temp_c: Mapped[float]
    members: Mapped[list[Any]] = mapped_column(JSON)
    started_at: Mapped[datetime | None]
    due_at: Mapped[datetime | None]
    ended_at: Mapped[datetime | None]
    whole: Mapped[bool]
    assumed: Mapped[bool]


class FloorDryerRunRow(_FloorRun, Base):
    """A dryer run as the floor knows it; members are spools."""

    __tablename__ = "floor_dryer_runs"


class FloorOvenRunRow(_FloorRun, Base):
    """An oven run as the floor knows it; members are jobs."""

    __tablename__ = "floor_oven_runs"


class FloorCommandRow(Base):
    """A command that was taken, by the key that its device made, and how things stood before it."""

    __tablename__ = "floor_commands"
    __table_args__ = (Index("uq_floor_commands_event", "event", unique=True),)

    key: Mapped[str] = mapped_column(primary_key=True)
    event: Mapped[int]
    before: Mapped[list[Any]] = mapped_column(JSON)
    undone: Mapped[bool]


class FloorStateRow(Base):
    """Since when the floor reports, and the newest event that the published plan did not foresee."""

    __tablename__ = "floor_state"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    opened_event: Mapped[int]
    opened_at: Mapped[datetime]
    last_event: Mapped[int]
    strayed_event: Mapped[int]
    strayed_why: Mapped[str]
    publish_alone: Mapped[bool]
    later_min: Mapped[int]


class EventSubjectRow(Base):
    """Everything that an event is told of, beside its first subject."""

    __tablename__ = "event_subjects"
    __table_args__ = (
        part_of("events", ("event",), ("number",)),
        Index("ix_event_subjects_kind_id", "kind", "id"),
    )

    event: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    kind: Mapped[str] = mapped_column(primary_key=True)
    id: Mapped[str] = mapped_column(primary_key=True)


class PlanBasisRow(Base):
    """The shop that a plan was made for, packed, and the newest event of the floor that it knew."""

    __tablename__ = "plan_bases"
    __table_args__ = (part_of("plans", ("plan",), ("number",)),)

    plan: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    event: Mapped[int]
    packed: Mapped[bytes] = mapped_column(LargeBinary)
