"""Tables of plans: written once, then only their state changes."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import BigInteger, CheckConstraint, Index, text
from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base, part_of


class PlanRow(Base):
    """A plan by its number, with its figures and its state.

    ``scenario_version`` and ``recording`` say on which state of the record it was made,
    ``planned_from`` for which instant.
    """

    __tablename__ = "plans"
    __table_args__ = (
        CheckConstraint("state IN ('proposal', 'published', 'replaced', 'discarded')", name="state_known"),
        CheckConstraint(
            "(state IN ('published', 'replaced')) = (published_at IS NOT NULL)", name="published"
        ),
        Index(
            "uq_plans_one_published",
            "state",
            unique=True,
            sqlite_where=text("state = 'published'"),
            postgresql_where=text("state = 'published'"),
        ),
    )

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    state: Mapped[str]
    scenario_version: Mapped[int]
    recording: Mapped[int]
    planned_from: Mapped[datetime]
    created_at: Mapped[datetime]
    published_at: Mapped[datetime | None]
    scenario_hash: Mapped[str]
    made_at: Mapped[datetime]
    late_cost: Mapped[float]
    late_jobs: Mapped[int]
    unplaced: Mapped[int]
    attended_min: Mapped[int] = mapped_column(BigInteger)
    preheat_min: Mapped[int] = mapped_column(BigInteger)
    lower_bound: Mapped[float | None]
    seconds: Mapped[float]
    seed: Mapped[int] = mapped_column(BigInteger)


class _OfPlan:
    """Key columns of everything that a plan is made of."""

    plan: Mapped[int] = mapped_column(primary_key=True, autoincrement=False, sort_order=-3)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False, sort_order=-2)


class PlannedJobRow(_OfPlan, Base):
    """A job's place in a plan."""

    __tablename__ = "planned_jobs"
    __table_args__ = (
        part_of("plans", ("plan",), ("number",)),
        Index("uq_planned_jobs_plan_job", "plan", "job", unique=True),
    )

    job: Mapped[str]
    printer: Mapped[str]
    chamber_c: Mapped[float]
    oven_run: Mapped[str | None]
    done: Mapped[datetime]
    late_min: Mapped[int]


class PlannedFeedRow(_OfPlan, Base):
    """Which head, nozzle and spool serve a feed of a planned job."""

    __tablename__ = "planned_feeds"
    __table_args__ = (part_of("planned_jobs", ("plan", "position"), ("plan", "position")),)

    feed: Mapped[int] = mapped_column(primary_key=True, autoincrement=False, sort_order=-1)
    head: Mapped[str]
    nozzle: Mapped[str]
    spool: Mapped[str]


class PlannedStepRow(_OfPlan, Base):
    """A printer step of a planned job."""

    __tablename__ = "planned_steps"
    __table_args__ = (part_of("planned_jobs", ("plan", "position"), ("plan", "position")),)

    step: Mapped[int] = mapped_column(primary_key=True, autoincrement=False, sort_order=-1)
    kind: Mapped[str]
    start: Mapped[datetime]
    end: Mapped[datetime]


class PlanDryerRunRow(_OfPlan, Base):
    """A dryer run of a plan."""

    __tablename__ = "plan_dryer_runs"
    __table_args__ = (part_of("plans", ("plan",), ("number",)),)

    id: Mapped[str]
    dryer: Mapped[str]
    setpoint_c: Mapped[float]
    start: Mapped[datetime]
    end: Mapped[datetime]


class PlanDryerRunSpoolRow(_OfPlan, Base):
    """A spool in a dryer run of a plan."""

    __tablename__ = "plan_dryer_run_spools"
    __table_args__ = (part_of("plan_dryer_runs", ("plan", "position"), ("plan", "position")),)

    place: Mapped[int] = mapped_column(primary_key=True, autoincrement=False, sort_order=-1)
    spool: Mapped[str]


class PlanOvenRunRow(_OfPlan, Base):
    """An oven run of a plan."""

    __tablename__ = "plan_oven_runs"
    __table_args__ = (part_of("plans", ("plan",), ("number",)),)

    id: Mapped[str]
    oven: Mapped[str]
    temp_c: Mapped[float]
    start: Mapped[datetime]
    end: Mapped[datetime]


class PlanOvenRunJobRow(_OfPlan, Base):
    """A job in an oven run of a plan."""

    __tablename__ = "plan_oven_run_jobs"
    __table_args__ = (part_of("plan_oven_runs", ("plan", "position"), ("plan", "position")),)

    place: Mapped[int] = mapped_column(primary_key=True, autoincrement=False, sort_order=-1)
    job: Mapped[str]


class PlanForcedRow(_OfPlan, Base):
    """A rule that the rest of a begun job can't keep."""

    __tablename__ = "plan_forced"
    __table_args__ = (part_of("plans", ("plan",), ("number",)),)

    job: Mapped[str]
    rule: Mapped[str]
    text: Mapped[str]


class PlanUnplacedRow(_OfPlan, Base):
    """A job without a place."""

    __tablename__ = "plan_unplaced"
    __table_args__ = (part_of("plans", ("plan",), ("number",)),)

    job: Mapped[str]


class PlanReasonRow(_OfPlan, Base):
    """Why an unplaced job has no place; a figure is a number, a whole number, words or nothing."""

    __tablename__ = "plan_reasons"
    __table_args__ = (part_of("plan_unplaced", ("plan", "position"), ("plan", "position")),)

    place: Mapped[int] = mapped_column(primary_key=True, autoincrement=False, sort_order=-1)
    check: Mapped[str]
    printer: Mapped[str | None]
    head: Mapped[str | None]
    nozzle: Mapped[str | None]
    asked_number: Mapped[float | None]
    asked_whole: Mapped[int | None] = mapped_column(BigInteger)
    asked_words: Mapped[str | None]
    there_number: Mapped[float | None]
    there_whole: Mapped[int | None] = mapped_column(BigInteger)
    there_words: Mapped[str | None]
    text: Mapped[str]
