"""Tables of filament in stock."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base, part_of, refers_to


class SpoolRow(Base):
    """One spool; ``own_drying`` tells an empty list of own recipes from none given."""

    __tablename__ = "spools"
    __table_args__ = (
        refers_to("materials", "material"),
        CheckConstraint("grams >= 0", name="grams_not_negative"),
        CheckConstraint("exposed_min >= 0", name="minutes_not_negative"),
    )

    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    material: Mapped[str]
    lot: Mapped[str]
    grams: Mapped[float]
    body_max_c: Mapped[float]
    available_from: Mapped[datetime]
    dried: Mapped[bool]
    exposed_min: Mapped[int]
    own_drying: Mapped[bool]


class SpoolCertRow(Base):
    """A certificate that came with a spool's lot."""

    __tablename__ = "spool_certs"
    __table_args__ = (part_of("spools", ("spool",), ("id",)),)

    spool: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    tag: Mapped[str]


class SpoolDryingRow(Base):
    """A recipe of a spool's own, for its first run."""

    __tablename__ = "spool_drying"
    __table_args__ = (part_of("spools", ("spool",), ("id",)),)

    spool: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    temp_c: Mapped[float]
    hours: Mapped[float]
    vacuum: Mapped[bool]
