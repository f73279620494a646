"""The stretch of time that the board shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from scheduler.model import Plan, Shift

#: Ranges by the word in the address: the words on the switch, days (None: the whole plan).
RANGES: dict[str, tuple[str, int | None]] = {
    "day": ("1 day", 1),
    "3": ("3 days", 3),
    "week": ("Week", 7),
    "all": ("Whole plan", None),
}
DEFAULT_RANGE = "week"
#: Least width of a day on the drawing, px, in the range of so many days; sides scroll below that.
DAY_PX = {1: 1000, 3: 340, 7: 150}
LONG_DAY_PX = 120


@dataclass(frozen=True, slots=True)
class Window:
    """Whole local days ``[start, end)`` and how wide they are drawn at the least, px."""

    key: str
    first: date
    days: int
    start: datetime
    end: datetime
    width_px: int

    @property
    def minutes(self) -> float:
        return (self.end - self.start).total_seconds() / 60

    def percent(self, instant: datetime) -> float:
        """Where an instant lies, % of the width; outside of 0 to 100 where it is not shown."""
        return 100 * (instant - self.start).total_seconds() / 60 / self.minutes

    def px(self, minutes: float) -> float:
        """How wide so many minutes are at the least width."""
        return minutes / self.minutes * self.width_px

    def midnights(self, zone: tzinfo) -> tuple[datetime, ...]:
        """The start of each shown day and the end of the last: 23 or 25 hours apart where clocks change."""
        return tuple(_midnight(self.first + timedelta(days=step), zone) for step in range(self.days + 1))


def _midnight(day: date, zone: tzinfo) -> datetime:
    return datetime.combine(day, time(), zone)


def plan_ends(plan: Plan) -> datetime | None:
    """The last moment at which something of the plan happens; ``None`` for an empty plan."""
    ends = [job.done for job in plan.jobs]
    ends += [run.end for run in plan.dryer_runs]
    ends += [run.end for run in plan.oven_runs]
    return max(ends, default=None)


def find_window(
    key: str,
    asked_first: date | None,
    now: datetime,
    plan_start: datetime,
    last: datetime | None,
    shifts: tuple[Shift, ...],
    zone: tzinfo,
) -> Window:
    """The window that an address asks for, or the nearest one that shows something.

    Parameters
    ----------
    asked_first : date or None
        First day; ``None``: today, or the plan's first day where today lies outside of the plan.
    last : datetime or None
        The plan's last moment.
    """
    key = key if key in RANGES else DEFAULT_RANGE
    plan_first = plan_start.astimezone(zone).date()
    horizon = last or max((shift.end for shift in shifts), default=plan_start)
    plan_last = max(horizon.astimezone(zone).date(), plan_first)
    today = now.astimezone(zone).date()
    days = RANGES[key][1]
    if days is None:
        first = plan_first
        days = (plan_last - plan_first).days + 1
    elif asked_first is not None:
        first = asked_first
    else:
        first = today if plan_first <= today <= plan_last else plan_first
    return Window(
        key,
        first,
        days,
        # In UTC: two instants of one zone would be subtracted by their wall clocks.
        _midnight(first, zone).astimezone(UTC),
        _midnight(first + timedelta(days=days), zone).astimezone(UTC),
        days * DAY_PX.get(days, LONG_DAY_PX),
    )
