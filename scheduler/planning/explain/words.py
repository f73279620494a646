"""How an explanation spells times, durations and lists."""

from __future__ import annotations

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from scheduler.model import Site

#: English whatever the machine's locale is.
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

HOUR_MIN = 60
DAY_MIN = 24 * HOUR_MIN
#: Beyond so many days from the plan's start a weekday alone could be misread.
WEEKDAY_IS_CLEAR_DAYS = 6


def lasts(minutes: int) -> str:
    """A duration: "45 min", "2 h 05 min", "3 days 4 h"."""
    if minutes < HOUR_MIN:
        return f"{minutes} min"
    if minutes < 2 * DAY_MIN:
        hours, rest = divmod(minutes, HOUR_MIN)
        return f"{hours} h {rest:02d} min" if rest else f"{hours} h"
    days, rest = divmod(minutes, DAY_MIN)
    hours = rest // HOUR_MIN
    return f"{days} days {hours} h" if hours else f"{days} days"


def listed(words: Sequence[str], most: int = 3) -> str:
    """ "A", "A and B", "A, B and 4 more"."""
    if len(words) <= 1:
        return "".join(words)
    if len(words) <= most:
        return f"{', '.join(words[:-1])} and {words[-1]}"
    return f"{', '.join(words[: most - 1])} and {len(words) - most + 1} more"


def sentence(phrase: str, *, starts_with_name: bool) -> str:
    """A phrase as a sentence; a name at its head keeps its spelling."""
    head = phrase if starts_with_name else phrase[:1].upper() + phrase[1:]
    return head if head.endswith(".") else head + "."


class Clockwork:
    """Minutes of the plan as local times of the shop."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._zone = ZoneInfo(site.timezone)
        self._first_day = site.plan_start.astimezone(self._zone).date()

    def when(self, minute: int) -> str:
        """Weekday and time, with the date where the weekday alone would not be clear: "Tue 14:05"."""
        there = self._site.instant(minute).astimezone(self._zone)
        far = abs((there.date() - self._first_day).days) > WEEKDAY_IS_CLEAR_DAYS
        date = f" {there.day} {MONTHS[there.month - 1]}" if far else ""
        return f"{WEEKDAYS[there.weekday()]}{date} {there:%H:%M}"

    def time(self, minute: int) -> str:
        """The time alone, where the day is clear: "06:00"."""
        return f"{self._site.instant(minute).astimezone(self._zone):%H:%M}"

    def same_day(self, one: int, other: int) -> bool:
        """True if both minutes lie on one local day."""
        return self._day(one) == self._day(other)

    def _day(self, minute: int) -> object:
        return self._site.instant(minute).astimezone(self._zone).date()
