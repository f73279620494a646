"""Tables of orders, their jobs, and what has begun of them."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base, part_of, refers_to


class OrderRow(Base):
    """What a customer asked for: one or more jobs."""

    __tablename__ = "orders"

    id: Mapped[str] = mapped_column(primary_key=True)
    customer: Mapped[str]
    note: Mapped[str]
    confidential: Mapped[bool]
    placed_at: Mapped[datetime | None]


class JobRow(Base):
    """One plate of an order."""

    __tablename__ = "jobs"
    __table_args__ = (
        refers_to("orders", "order"),
        refers_to("jobs", "same_lot_as"),
        refers_to("printers", "pinned_printer"),
        refers_to("printers", "progress_printer"),
        CheckConstraint("print_min >= 0 AND finish_min >= 0", name="minutes_not_negative"),
        CheckConstraint("(pinned_printer IS NULL) = (pinned_print_start IS NULL)", name="pin_whole"),
    )

    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    order: Mapped[str] = mapped_column(index=True)
    part: Mapped[str]
    quantity: Mapped[int]
    print_min: Mapped[int]
    size_x_mm: Mapped[float]
    size_y_mm: Mapped[float]
    size_z_mm: Mapped[float]
    anneal: Mapped[bool]
    finish_min: Mapped[int]
    release: Mapped[datetime]
    due: Mapped[datetime | None]
    weight: Mapped[float]
    same_lot_as: Mapped[str | None] = mapped_column(index=True)
    pinned_printer: Mapped[str | None]
    pinned_print_start: Mapped[datetime | None]
    progress_printer: Mapped[str | None]


class JobQualificationRow(Base):
    """A qualification that a job asks of its printer."""

    __tablename__ = "job_qualifications"
    __table_args__ = (part_of("jobs", ("job",), ("id",)),)

    job: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    tag: Mapped[str]


class FeedRow(Base):
    """What one head lays down for a job; position 0 is the part."""

    __tablename__ = "feeds"
    __table_args__ = (
        part_of("jobs", ("job",), ("id",)),
        refers_to("materials", "material"),
        CheckConstraint("grams >= 0", name="grams_not_negative"),
        CheckConstraint("position IN (0, 1)", name="one_or_two"),
    )

    job: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    material: Mapped[str]
    grams: Mapped[float]


class FeedNozzleRow(Base):
    """A bore that a feed allows."""

    __tablename__ = "feed_nozzles"
    __table_args__ = (part_of("feeds", ("job", "feed"), ("job", "position")),)

    job: Mapped[str] = mapped_column(primary_key=True)
    feed: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    size_mm: Mapped[float]


class FeedCertRow(Base):
    """A certificate that a feed asks of its spool."""

    __tablename__ = "feed_certs"
    __table_args__ = (part_of("feeds", ("job", "feed"), ("job", "position")),)

    job: Mapped[str] = mapped_column(primary_key=True)
    feed: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    tag: Mapped[str]


class ProgressFeedRow(Base):
    """Which head, nozzle and spool serve a feed of a begun job."""

    __tablename__ = "progress_feeds"
    __table_args__ = (part_of("jobs", ("job",), ("id",)), refers_to("spools", "spool"))

    job: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    head: Mapped[str]
    nozzle: Mapped[str]
    spool: Mapped[str]


class ProgressStepRow(Base):
    """A begun step of a job."""

    __tablename__ = "progress_steps"
    __table_args__ = (part_of("jobs", ("job",), ("id",)),)

    job: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    kind: Mapped[str]
    start: Mapped[datetime]
    end: Mapped[datetime]


class DryerRunRow(Base):
    """A dryer run begun before the recorded instant."""

    __tablename__ = "dryer_runs"
    __table_args__ = (refers_to("dryers", "dryer"),)

    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    dryer: Mapped[str]
    setpoint_c: Mapped[float]
    start: Mapped[datetime]
    end: Mapped[datetime]


class DryerRunSpoolRow(Base):
    """A spool in a begun dryer run."""

    __tablename__ = "dryer_run_spools"
    __table_args__ = (part_of("dryer_runs", ("run",), ("id",)), refers_to("spools", "spool"))

    run: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    spool: Mapped[str]


class OvenRunRow(Base):
    """An oven run begun before the recorded instant."""

    __tablename__ = "oven_runs"
    __table_args__ = (refers_to("ovens", "oven"),)

    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    oven: Mapped[str]
    temp_c: Mapped[float]
    start: Mapped[datetime]
    end: Mapped[datetime]


class OvenRunJobRow(Base):
    """A job in a begun oven run."""

    __tablename__ = "oven_run_jobs"
    __table_args__ = (part_of("oven_runs", ("run",), ("id",)), refers_to("jobs", "job"))

    run: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    job: Mapped[str]
