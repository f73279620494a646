"""Local wall-clock times as instants with the offset of their own day, and a shop's rota."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone
from zoneinfo import ZoneInfo

from scheduler.model import Shift

SATURDAY = 5
SUNDAY = 6


def local_instant(zone: ZoneInfo, day: date, hour: int, minute: int = 0) -> datetime:
    """The instant of a wall-clock time, with a fixed offset.

    A fixed offset makes sums of instants and minutes elapse truly; on zone-aware values Python adds
    wall-clock time, which is an hour out across a clock change.
    """
    wall = datetime.combine(day, time(hour, minute), tzinfo=zone)
    offset = wall.utcoffset()
    assert offset is not None
    return wall.astimezone(UTC).astimezone(timezone(offset))


@dataclass(frozen=True, slots=True)
class Watch:
    """One window of the weekly rota: weekdays (0 is Monday), wall-clock hours, and hands."""

    weekdays: tuple[int, ...]
    start: tuple[int, int]
    end: tuple[int, int]
    hands: int


def rota(zone: ZoneInfo, first: date, days: int, watches: Sequence[Watch]) -> tuple[Shift, ...]:
    """The shifts of ``days`` days from ``first``, in order of their starts."""
    shifts = []
    for ahead in range(days):
        day = first + timedelta(days=ahead)
        shifts += [
            Shift(local_instant(zone, day, *watch.start), local_instant(zone, day, *watch.end), watch.hands)
            for watch in watches
            if day.weekday() in watch.weekdays
        ]
    return tuple(shifts)


def working_day(first: date, ahead: int) -> date:
    """The day ``ahead`` working days (Monday to Friday) after ``first``.

    0 is ``first`` itself if it is a working day, else the Monday after it.
    """
    day = first
    while day.weekday() >= SATURDAY:
        day += timedelta(days=1)
    for _ in range(ahead):
        day += timedelta(days=1)
        while day.weekday() >= SATURDAY:
            day += timedelta(days=1)
    return day
