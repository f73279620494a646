"""Keeps the published plan true: after a surprise on the floor it plans anew, and publishes within limits."""

from __future__ import annotations

import logging
import threading

from scheduler.model.errors import SoaklineError
from scheduler.office import plans
from scheduler.office.clock import Clock
from scheduler.office.straying import set_aside_older, settle, wanted
from scheduler.store import Record
from workers.closing import OPEN_STATES
from workers.runner import Runner

#: Seconds between two looks.
LOOK_S = 1.0
#: A plan that failed is not asked for again sooner, seconds.
REST_S = 20.0

log = logging.getLogger(__name__)


class Keeping:
    """Looks for surprises, in a thread of its own."""

    def __init__(self, record: Record, clock: Clock, runner: Runner, look_s: float = LOOK_S) -> None:
        self._record = record
        self._clock = clock
        self._runner = runner
        self._look_s = look_s
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._work, name="keeping", daemon=True)

    def start(self) -> None:
        """Begin to look."""
        self._thread.start()

    def close(self) -> None:
        """Look no more."""
        self._over.set()
        self._thread.join(timeout=10)

    def _work(self) -> None:
        while not self._over.wait(self._look_s):
            try:
                if not self.look():
                    self._over.wait(REST_S)
            except SoaklineError as error:
                log.warning("the plan could not be kept true: %s", error)

    def look(self) -> bool:
        """Plan anew if something strayed; False if that did not succeed."""
        with self._record.reading() as unit:
            surprise = wanted(unit)
        if surprise is None:
            return True
        try:
            run_id = plans.request_plan(self._record, self._clock, plans.PLANNER)
        except plans.AlreadyPlanning:
            return True
        log.info("planning anew: %s", surprise.why)
        set_aside_older(self._record, self._clock, surprise.event)
        self._runner.start(run_id)
        number = self._number_of(run_id)
        if number is None:
            return False
        why = settle(self._record, self._clock, number)
        if why is not None:
            log.info("plan %d waits for a person: %s", number, why)
        return True

    def _number_of(self, run_id: int) -> int | None:
        while True:
            with self._record.reading() as unit:
                run = unit.runs.get(run_id)
            if run is None or run.state not in OPEN_STATES:
                return run.plan_number if run else None
            if self._over.wait(0.3):
                return None
