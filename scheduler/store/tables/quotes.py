"""Tables of the quote desk: what was asked and promised, the price sheet, and what prints took."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, Index
from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base, part_of


class QuoteRow(Base):
    """A request of a customer, as it stands now.

    The jobs of a held or accepted quote are the shop's jobs of the order that ``order`` names; the order
    is named and not referred to, because it leaves with its last job.
    """

    __tablename__ = "quotes"
    __table_args__ = (
        CheckConstraint(
            "state IN ('draft', 'sent', 'held', 'accepted', 'declined', 'expired')", name="state_known"
        ),
        CheckConstraint("(state = 'held') = (held_until IS NOT NULL)", name="held_has_an_end"),
        CheckConstraint("chance IS NULL OR (chance > 0 AND chance < 1)", name="chance_possible"),
        Index("ix_quotes_state", "state"),
    )

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    state: Mapped[str]
    version: Mapped[int]
    customer: Mapped[str]
    contact: Mapped[str]
    parts: Mapped[str]
    wanted: Mapped[datetime | None]
    created_at: Mapped[datetime]
    changed_at: Mapped[datetime]
    order: Mapped[str | None]
    chance: Mapped[float | None]
    planned_for: Mapped[datetime | None]
    promised_at: Mapped[datetime | None]
    promised_for: Mapped[datetime | None]
    valid_until: Mapped[datetime | None]
    held_until: Mapped[datetime | None]
    price_cents: Mapped[int | None]
    terms: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    way: Mapped[str | None]
    done_at: Mapped[datetime | None]
    link_serial: Mapped[int]


class QuoteVersionRow(Base):
    """What a quote asked for at one version; never changed, so that every offer can be shown again."""

    __tablename__ = "quote_versions"
    __table_args__ = (part_of("quotes", ("quote",), ("number",)),)

    quote: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    version: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    who: Mapped[str]
    content: Mapped[dict[str, Any]] = mapped_column(JSON)


class QuoteThingRow(Base):
    """A job or a spool to be bought that the shop holds for a quote."""

    __tablename__ = "quote_things"
    __table_args__ = (
        part_of("quotes", ("quote",), ("number",)),
        CheckConstraint("kind IN ('job', 'spool')", name="kind_known"),
    )

    quote: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    kind: Mapped[str] = mapped_column(primary_key=True)
    thing: Mapped[str] = mapped_column(primary_key=True)


class QuoteShiftRow(Base):
    """Overtime that stands in the shop's shifts for a held quote alone."""

    __tablename__ = "quote_shifts"
    __table_args__ = (
        part_of("quotes", ("quote",), ("number",)),
        CheckConstraint("hands > 0", name="hands_above_zero"),
    )

    quote: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    start: Mapped[datetime] = mapped_column(primary_key=True)
    end: Mapped[datetime] = mapped_column(primary_key=True)
    hands: Mapped[int]


class PlannedTimeRow(Base):
    """How much longer than estimated the prints of an order are planned, because earlier prints taught so.

    Orders and materials are named and not referred to: what is learnt from a print outlives both.
    """

    __tablename__ = "planned_times"
    __table_args__ = (CheckConstraint("factor > 0", name="factor_above_zero"),)

    order: Mapped[str] = mapped_column(primary_key=True)
    material: Mapped[str] = mapped_column(primary_key=True)
    factor: Mapped[float]


class PriceSheetRow(Base):
    """A price sheet as somebody set it; the newest counts."""

    __tablename__ = "price_sheets"

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    who: Mapped[str]
    content: Mapped[dict[str, Any]] = mapped_column(JSON)


class PrintEndRow(Base):
    """One print that ended: what it was estimated to take there, and what it took."""

    __tablename__ = "print_ends"
    __table_args__ = (
        CheckConstraint("estimated_min > 0 AND actual_min >= 0", name="minutes_possible"),
        Index("ix_print_ends_at", "at"),
    )

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    job: Mapped[str]
    machine: Mapped[str]
    material: Mapped[str]
    estimated_min: Mapped[float]
    actual_min: Mapped[float]
    failed: Mapped[bool]


class LearningSwitchRow(Base):
    """A manager's word that dates follow what was learnt, or not; the newest counts; without one they do."""

    __tablename__ = "learning_switches"

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    who: Mapped[str]
    used: Mapped[bool]


class LearningResetRow(Base):
    """A manager's word that what was learnt before counts no more."""

    __tablename__ = "learning_resets"

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    who: Mapped[str]
