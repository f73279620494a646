"""The quote desk of the made-up shop of `tests.bench.closed_world`, on a record of its own.

Each order is drafted, sent with a date, and accepted or declined, all by `scheduler.office.quotes`; plans
are asked for, carried out and published by `scheduler.office.plans`. The world's books stand for what the
floor reports: they are written into the record before anything is asked of it.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.model import Job
from scheduler.office.plans import carry_out, publish, request_plan
from scheduler.office.quotes.drafts import decline, draft
from scheduler.office.quotes.holds import accept, send
from scheduler.office.quotes.promises import note_order_done, note_print_end, use_what_was_learnt
from scheduler.office.refused import Refused
from scheduler.quoting.ask import Ask, AskLine
from scheduler.store import PrintEnd, Record
from tests.bench.closed_world import BEGIN, DAY, World

WEEK = 7 * DAY
#: What an office lets a plan be improved for is 5 s; a shop of three machines needs less, seconds.
PLAN_S = 0.2
#: Customers who would have to wait longer go elsewhere.
PATIENCE = 10 * DAY


@dataclass(frozen=True)
class Setting:
    """One experiment: how much longer prints take than estimated, and whether dates follow what is learnt."""

    name: str
    bias: float
    learns: bool


class Desk:
    """Promises, and plans again when something has happened.

    Parameters
    ----------
    record : Record
        Migrated and empty.
    chance : float
        With which every date is promised.
    """

    def __init__(self, world: World, record: Record, setting: Setting, chance: float) -> None:
        self.world, self.record, self.setting, self.chance = world, record, setting, chance
        #: Quote number by order, and when it was promised for which minute.
        self.promised: dict[str, tuple[int, int]] = {}
        self.seconds: list[float] = []
        self.declined = 0
        self.no_place = 0
        self._noted = 0
        self._done: set[str] = set()
        use_what_was_learnt(record, self.clock, setting.learns)

    def clock(self) -> datetime:
        """The world's minute."""
        return self.world.instant(self.world.now)

    def replan(self) -> None:
        """A plan for what is waiting, near to the last one, asked for and published as an office does."""
        if not self.world.waiting and self.world.plan is not None:
            return
        self._report()
        run = request_plan(self.record, self.clock)
        number = carry_out(self.record, self.clock, run, seconds=PLAN_S, seed=1)
        assert number is not None, "the planner failed"
        publish(self.record, self.clock, number)
        self._follow()

    def quote(self, job: Job) -> None:
        """Promise a job and take it in, if the customer will wait so long."""
        world = self.world
        self._report()
        began = time.process_time()
        feed = job.feeds[0]
        line = AskLine("part", 1, feed.material, job.size_mm, job.print_min, feed.grams, feed.nozzle_mm)
        number = draft(self.record, self.clock, "Customer", "", Ask((line,)))
        try:
            sent = send(self.record, self.clock, number, "as planned", self.chance)
        except Refused:
            self.no_place += 1
            return
        assert sent.promised_for is not None
        if sent.promised_for > world.instant(world.now + PATIENCE):
            decline(self.record, self.clock, number)
            self.declined += 1
            return
        taken = accept(self.record, self.clock, number)
        self.seconds.append(time.process_time() - began)
        assert taken.order is not None and taken.promised_for is not None
        self.promised[taken.order] = (world.now, (taken.promised_for - BEGIN) // timedelta(minutes=1))
        with self.record.reading() as unit:
            jobs = [one for one in unit.fleet.load().jobs if one.order == taken.order]
        world.waiting.update((one.id, one) for one in jobs)
        world.estimates.update((one.id, job.print_min) for one in jobs)
        self._follow()

    def end(self) -> None:
        """Report what is left to be reported."""
        self._report()

    def _report(self) -> None:
        """Write the world's books into the record: how things stand, which prints and orders ended."""
        world, now = self.world, self.clock()
        with self.record.writing() as unit:
            unit.fleet.replace(world.scenario())
            unit.plans.retire_all()
            if world.plan is not None:
                number = unit.plans.add(
                    world.plan,
                    created_at=now,
                    scenario_version=unit.fleet.version(),
                    planned_from=now,
                )
                unit.plans.publish(number, now)
            for job, one in world.records[self._noted :]:
                planned = unit.quotes.planned_times(_order_of(job))
                end = PrintEnd(
                    job=job,
                    machine=one.machine,
                    material=one.material,
                    # As the floor notes it: what was planned longer is no estimate.
                    estimated_min=one.estimated_min / next(iter(planned.values()), 1.0),
                    actual_min=one.actual_min,
                    failed=one.failed,
                    at=one.at,
                )
                note_print_end(unit, end, now)
            self._noted = len(world.records)
            for id in sorted(set(world.done) - self._done):
                note_order_done(unit, _order_of(id), world.instant(world.done[id]), now)
                self._done.add(id)

    def _follow(self) -> None:
        """Work to the published plan from now on."""
        with self.record.reading() as unit:
            stored = unit.plans.published()
        assert stored is not None
        self.world.publish(stored.plan)


def _order_of(job: str) -> str:
    return job.rsplit("-", 1)[0]
