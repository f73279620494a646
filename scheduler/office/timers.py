"""What the office does by the clock: which instants are due, and serving each of them once.

A timer's instants follow the shop's clock. The newest one that has passed is due until it is served, so that
a server which was off at the time catches up, once, however many instants it missed.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from scheduler.model.errors import SoaklineError
from scheduler.office.clock import Clock
from scheduler.office.humid_check import check_humid_week
from scheduler.office.local_time import instant_of
from scheduler.store import Record, Unit
from scheduler.store.timers import may_claim

#: Who is named in events for what a timer did.
TIMER = "timer"
#: Nobody else takes a due instant up for so long.
LEASE = timedelta(minutes=30)
#: Instants that passed longer ago are left out: the next one comes soon enough.
GRACE = timedelta(days=6)

log = logging.getLogger(__name__)

Work = Callable[[Record, Clock, Callable[[Unit], None]], object]


@dataclass(frozen=True, slots=True)
class Timer:
    """Work that is due once a week.

    Parameters
    ----------
    weekday, hour : int
        When, by the shop's clock; Monday is 0.
    ready : callable
        Whether the record holds what the work needs.
    work : callable
        Called with the record, the clock, and what to do in the unit of work that stores the result.
    """

    name: str
    weekday: int
    hour: int
    ready: Callable[[Unit], bool]
    work: Work

    def newest(self, now: datetime, zone: ZoneInfo) -> datetime:
        """The newest instant of this timer that is not after ``now``."""
        local = now.astimezone(zone)
        day = local.date() - timedelta(days=(local.weekday() - self.weekday) % 7)
        while True:
            due = instant_of(datetime(day.year, day.month, day.day, self.hour), zone)
            if due <= now:
                return due
            day -= timedelta(days=7)


def _look_at_humid_week(record: Record, clock: Clock, also: Callable[[Unit], None]) -> object:
    return check_humid_week(record, clock, TIMER, also)


#: Monday at six, before the week is planned.
HUMID_WEEK = Timer("humid week", 0, 6, lambda unit: unit.plans.published() is not None, _look_at_humid_week)
TIMERS = (HUMID_WEEK,)


def timer_of(name: str) -> Timer:
    """The timer of this name."""
    return next(timer for timer in TIMERS if timer.name == name)


def take_up(record: Record, clock: Clock, timer: Timer, who: str) -> datetime | None:
    """Take the lease on a timer's due instant; ``None`` where none is due or somebody else has it."""
    now = clock()
    with record.reading() as unit:
        if unit.fleet.version() == 0:
            return None
        due = timer.newest(now, ZoneInfo(unit.fleet.load().site.timezone))
        if now - due > GRACE or not may_claim(unit.timers.get(timer.name), due, now):
            return None
        if not timer.ready(unit):
            return None
    with record.writing() as unit:
        return due if unit.timers.claim(timer.name, due, now, now + LEASE, who) else None


def serve(record: Record, clock: Clock, timer: Timer, due: datetime, who: str) -> bool:
    """Do a timer's work for a due instant whose lease ``who`` holds; False if it came to nothing."""

    def finish(unit: Unit) -> None:
        unit.timers.finish(timer.name, due, clock(), who)

    try:
        timer.work(record, clock, finish)
    except SoaklineError as error:
        log.warning("the timer %r came to nothing: %s", timer.name, error)
        why = str(error)
    except Exception as error:
        # Once a week is often enough to break; the log keeps the whole story.
        log.exception("the timer %r broke", timer.name)
        why = f"it broke off ({type(error).__name__}: {error})"
    else:
        return True
    with record.writing() as unit:
        if unit.timers.get(timer.name).leased_by == who:
            unit.timers.finish(timer.name, due, clock(), who, why)
    return False
