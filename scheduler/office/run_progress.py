"""How far a planning run is, recorded while it goes on."""

from __future__ import annotations

import time
from threading import Event as Signal
from typing import TYPE_CHECKING

from scheduler.office.clock import Clock
from scheduler.office.run_ends import asked_to_keep
from scheduler.store import Record, Unit

if TYPE_CHECKING:
    from scheduler.planning import Progress

#: Progress is recorded no more often, seconds.
PROGRESS_S = 0.3
#: Points that the course of the late hours is kept with, at most.
MOST_POINTS = 80

Point = tuple[float, float]


class Stopped(Exception):
    """Somebody ended the run while it was worked on, and wants nothing of it."""


def still_wanted(unit: Unit, run_id: int) -> None:
    """Raise :class:`Stopped` if the run is over."""
    run = unit.runs.get(run_id)
    if run is None or run.state != "working":
        raise Stopped


class Reporter:
    """Records progress now and then, and learns on the way whether somebody wants the run to end.

    Parameters
    ----------
    enough : threading.Event
        Set as soon as somebody wants the best plan so far.
    """

    def __init__(self, record: Record, clock: Clock, run_id: int, enough: Signal) -> None:
        self._record = record
        self._clock = clock
        self._run_id = run_id
        self._enough = enough
        self._last = -PROGRESS_S
        self._trail: tuple[Point, ...] = ()

    def __call__(self, progress: Progress) -> None:
        """Take a step of progress; :class:`Stopped` if the run is wanted no more."""
        if progress.late_cost is not None:
            self._trail = with_point(self._trail, (round(progress.seconds, 1), progress.late_cost))
        if time.monotonic() - self._last < PROGRESS_S:
            return
        with self._record.writing() as unit:
            still_wanted(unit, self._run_id)
            if asked_to_keep(unit, self._run_id) is not None:
                self._enough.set()
            unit.runs.note_course(self._run_id, progress.lower_bound, self._trail)
            unit.runs.update(
                self._run_id,
                heartbeat_at=self._clock(),
                seconds=progress.seconds,
                placed=progress.placed,
                jobs=progress.jobs,
                late_cost=progress.late_cost,
                doing=progress.doing,
            )
        self._last = time.monotonic()


def with_point(trail: tuple[Point, ...], point: Point, most: int = MOST_POINTS) -> tuple[Point, ...]:
    """A course of (seconds, late hours) with one more point, where it changes; thinned when it gets long.

    The first and the newest point always stay.
    """
    if trail and trail[-1][1] == point[1]:
        return trail
    if len(trail) >= most:
        trail = (*trail[:-1:2], trail[-1])
    return (*trail, point)
