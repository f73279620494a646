"""A first plan that was made in a hurry is made better once the compiled search is there."""

from __future__ import annotations

import logging
from collections.abc import Callable

from scheduler.model import Plan
from scheduler.model.errors import SoaklineError
from scheduler.office import plans
from scheduler.office.clock import Clock
from scheduler.store import Record
from workers.looking import Looking
from workers.runner import Runner

#: Seconds between two looks at what is waited for.
LOOK_S = 0.5
#: How often it plans until something better comes, and how long it waits before it tries again: on a busy
#: machine a run may have had no time for more than its own beginning, seconds.
TRIES, AGAIN_S = 3, 30.0

log = logging.getLogger(__name__)


def is_better(made: Plan, published: Plan, weights: dict[str, float]) -> bool:
    """Whether a newer plan leaves no more jobs out and is less late on the jobs that it still has."""
    still = {planned.job for planned in made.jobs}
    late = [
        sum(weights[planned.job] * planned.late_min for planned in plan.jobs if planned.job in still)
        for plan in (made, published)
    ]
    return len(made.unplaced) <= len(published.unplaced) and late[0] < late[1]


class Improving(Looking):
    """Waits, plans once more, and publishes what is less late; in a thread of its own.

    Parameters
    ----------
    ready : callable
        True once planning again is worth while.
    again_s : float
        Seconds before it tries again.
    """

    def __init__(
        self,
        record: Record,
        clock: Clock,
        runner: Runner,
        ready: Callable[[], bool],
        again_s: float = AGAIN_S,
    ) -> None:
        super().__init__(record, clock, "improving", LOOK_S)
        self._runner = runner
        self._ready = ready
        self._again_s = again_s

    def work(self) -> None:
        """Wait, and plan once more; again, a few times, while the first plan stands."""
        while not self._ready():
            if self.rest():
                return
        first = self._published()
        for tried in range(TRIES):
            if tried > 0 and self.rest(self._again_s):
                return
            if self._published() != first or not self._try():
                return

    def _published(self) -> int | None:
        with self._record.reading() as unit:
            stored = unit.plans.published()
        return stored.number if stored else None

    def _try(self) -> bool:
        """Plan; False if no plan came of it, or somebody else plans, has a proposal or changed the shop."""
        with self._record.reading() as unit:
            if unit.plans.newest_proposal() is not None:
                return False
        try:
            run_id = plans.request_plan(self._record, self._clock, plans.PLANNER)
            self._runner.start(run_id)
            number = self.plan_of(run_id)
            if number is None:
                # It failed, or somebody threw it away and does not want another.
                return False
            self._settle(number)
        except SoaklineError as error:
            # Their plan counts.
            log.info("the first plan stays: %s", error)
            return False
        return True

    def _settle(self, number: int) -> None:
        with self._record.reading() as unit:
            made, published = unit.plans.get(number), unit.plans.published()
            weights = {job.id: job.weight for job in unit.fleet.load().jobs}
        if made is None or made.state != "proposal":
            return
        if published is not None and not is_better(made.plan, published.plan, weights):
            plans.discard(self._record, self._clock, number, plans.PLANNER)
            return
        plans.publish(self._record, self._clock, number, plans.PLANNER)
        log.info("plan %d, %.1f late hours, takes the place of the first plan", number, made.plan.late_cost)
