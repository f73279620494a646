"""Where the present comes from; everything else is handed it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

#: Gives the present as an aware instant.
Clock = Callable[[], datetime]


def system_clock() -> datetime:
    """The computer's clock, in UTC."""
    return datetime.now(UTC)
