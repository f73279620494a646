"""Tables of planning runs and of what happened, when and by whom."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base


class PlanningRunRow(Base):
    """A request for a plan and how far it has come."""

    __tablename__ = "planning_runs"
    __table_args__ = (
        CheckConstraint("state IN ('waiting', 'working', 'done', 'failed', 'stopped')", name="state_known"),
    )

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    state: Mapped[str]
    requested_at: Mapped[datetime]
    heartbeat_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]
    seconds: Mapped[float]
    placed: Mapped[int]
    jobs: Mapped[int]
    late_cost: Mapped[float | None]
    doing: Mapped[str]
    plan_number: Mapped[int | None] = mapped_column(ForeignKey("plans.number"))
    message: Mapped[str]
    course: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))


class EventRow(Base):
    """Something that happened; rows are only ever added, which the database itself enforces."""

    __tablename__ = "events"
    __table_args__ = (Index("ix_events_subject", "subject_kind", "subject_id"),)

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    kind: Mapped[str]
    who: Mapped[str]
    subject_kind: Mapped[str]
    subject_id: Mapped[str]
    data: Mapped[dict[str, Any]] = mapped_column(JSON)
