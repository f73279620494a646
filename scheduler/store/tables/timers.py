"""Tables of what the office does by the clock: what ran last, and who is at it."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base


class TimerRow(Base):
    """One timer: the newest instant that it was due for and served, and the lease of whoever serves now."""

    __tablename__ = "timers"

    name: Mapped[str] = mapped_column(primary_key=True)
    served_for: Mapped[datetime | None]
    ended_at: Mapped[datetime | None]
    failed: Mapped[str]
    leased_by: Mapped[str | None]
    leased_until: Mapped[datetime | None]
