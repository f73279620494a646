"""Keeps the published plan true: after a surprise on the floor it plans anew, and publishes within limits."""

from __future__ import annotations

import logging

from scheduler.model.errors import SoaklineError
from scheduler.office import plans
from scheduler.office.clock import Clock
from scheduler.office.straying import set_aside_older, settle, wanted
from scheduler.store import Record
from workers.looking import Looking
from workers.runner import Runner

#: Seconds between two looks.
LOOK_S = 1.0
#: A plan that failed is not asked for again sooner, seconds.
REST_S = 20.0

log = logging.getLogger(__name__)


class Keeping(Looking):
    """Looks for surprises, in a thread of its own."""

    def __init__(self, record: Record, clock: Clock, runner: Runner, look_s: float = LOOK_S) -> None:
        super().__init__(record, clock, "keeping", look_s)
        self._runner = runner

    def work(self) -> None:
        """Plan anew whenever something strayed."""
        while not self.rest():
            try:
                if not self.look():
                    self.rest(REST_S)
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
        number = self.plan_of(run_id)
        if number is None:
            return False
        why = settle(self._record, self._clock, number)
        if why is not None:
            log.info("plan %d waits for a person: %s", number, why)
        return True
