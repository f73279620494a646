"""Machines, spools, dryers and ovens that are no longer as a plan needed them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from scheduler.model import (
    Downtime,
    DryerRun,
    FeedChoice,
    Job,
    Mounted,
    OvenRun,
    Plan,
    PlannedJob,
    Printer,
    Scenario,
    Spool,
)
from scheduler.planning.explain.words import Clockwork

#: Kind, id and words of what hit a job.
Hit = tuple[str, str, str]
#: A draw that exceeds what is left by less is a rounding, grams.
GRAMS = 1e-6
NOTHING = Mounted(None, None, None)


class Things:
    """Looks whether the things that a job stood on in the old plan still serve it.

    Parameters
    ----------
    planned_for : Scenario
        The shop of now as the old plan expected it.
    new : Scenario
        The shop as it is.
    """

    def __init__(self, planned_for: Scenario, old_plan: Plan, new: Scenario, clock: Clockwork) -> None:
        self.new, self.clock, self.now = new, clock, new.site.plan_start
        self.then_printers = {one.id: one for one in planned_for.printers}
        self.printers = {one.id: one for one in new.printers}
        self.then_spools = {one.id: one for one in planned_for.spools}
        self.spools = {one.id: one for one in new.spools}
        self.then_materials = {one.id: one for one in planned_for.materials}
        self.materials = {one.id: one for one in new.materials}
        self.then_stoves = _stoves(planned_for)
        self.stoves = _stoves(new)
        self.oven_runs = {run.id: run for run in old_plan.oven_runs}
        self.runs: defaultdict[str, list[DryerRun]] = defaultdict(list)
        for run in sorted(old_plan.dryer_runs, key=lambda run: run.start):
            for spool in run.spools:
                self.runs[spool].append(run)
        self.draws = self._draws(old_plan, planned_for)
        self.under_way = {run.id: run for run in planned_for.under_way.dryer_runs}

    def hit(self, job: Job, was: PlannedJob) -> Hit | None:
        """The first thing that fails the job; ``None``: all would still serve it."""
        return self._printer(was) or self._spools(job, was) or self._oven(was) or self._materials(job)

    def _printer(self, was: PlannedJob) -> Hit | None:
        id = was.printer
        printer, then = self.printers.get(id), self.then_printers.get(id)
        if printer is None:
            return "machine", id, f"{id} is gone"
        start, end = was.steps[0].start, was.steps[-1].end
        down = self._down(printer.downtime, then.downtime if then else (), start, end)
        if down is not None:
            return "machine", id, f"{id} is down {self._span(down)}"
        if then is None:
            return None
        if printer.free_at > max(start, then.free_at):
            return "machine", id, f"{id} is free only {self._when(printer.free_at)}"
        if _lasting(printer) != _lasting(then):
            return "machine", id, f"what {id} can do was changed"
        return None

    def _spools(self, job: Job, was: PlannedJob) -> Hit | None:
        for at, choice in enumerate(was.feeds):
            hit = self._spool(job, was, at, choice) or self._dryer(was, choice)
            if hit is not None:
                return hit
        return None

    def _spool(self, job: Job, was: PlannedJob, at: int, choice: FeedChoice) -> Hit | None:
        id, start = choice.spool, was.steps[0].start
        spool, then = self.spools.get(id), self.then_spools.get(id)
        if spool is None:
            return "spool", id, f"spool {id} is no longer there"
        if then is None or job.progress is not None:
            return None
        run = self.last_run(id, start)
        needed = sum(grams for begun, grams in self.draws[id] if begun <= start)
        if spool.grams < then.grams - GRAMS and spool.grams < needed - GRAMS:
            words = f"spool {id} holds {spool.grams:g} g, and {needed:g} g were to be drawn by then"
            return "spool", id, words
        first = run.start if run is not None and run.start >= self.now else start
        if spool.available_from > max(first, then.available_from):
            return "spool", id, f"spool {id} comes only {self._when(spool.available_from)}"
        if self._other(spool, then):
            return "spool", id, f"spool {id} was changed"
        return self._wetter(spool, then, run)

    def _wetter(self, spool: Spool, then: Spool, run: DryerRun | None) -> Hit | None:
        """A spool that must be dried, or dried longer, than the plan thought."""
        id = spool.id
        if run is not None and run.start >= self.now:
            if (spool.drying, spool.body_max_c) != (then.drying, then.body_max_c):
                return "spool", id, f"spool {id} must be dried otherwise than planned"
            return None
        if run is None or run.end <= self.now:
            if then.dried and not spool.dried:
                return "spool", id, f"spool {id} is wet"
            if spool.exposed_min > then.exposed_min and spool.dried:
                more = spool.exposed_min - then.exposed_min
                return "spool", id, f"spool {id} has been in room air {more} min longer than planned"
        return None

    def _dryer(self, was: PlannedJob, choice: FeedChoice) -> Hit | None:
        run = self.last_run(choice.spool, was.steps[0].start)
        if run is None or run.end <= self.now:
            return None
        for begun in self.new.under_way.dryer_runs:
            if begun.id == run.id and begun.end > run.end:
                words = f"spool {choice.spool} stays in {run.dryer} until {self._when(begun.end)}"
                return "dryer", run.dryer, words
        if run.start < self.now:
            there = any(choice.spool in begun.spools for begun in self.new.under_way.dryer_runs)
            if not there and run.id in self.under_way:
                return (
                    "spool",
                    choice.spool,
                    f"the drying of spool {choice.spool} was broken off or has not begun",
                )
            return None
        return self._stove("dryer", run.dryer, run)

    def _oven(self, was: PlannedJob) -> Hit | None:
        run = self.oven_runs.get(was.oven_run) if was.oven_run is not None else None
        if run is None or run.start < self.now:
            return None
        return self._stove("oven", run.oven, run)

    def _stove(self, kind: str, id: str, run: DryerRun | OvenRun) -> Hit | None:
        if id not in self.stoves:
            return kind, id, f"{id} is gone"
        down = self._down(self.stoves[id], self.then_stoves.get(id, ()), run.start, run.end)
        return None if down is None else (kind, id, f"{id} is down {self._span(down)}")

    def _materials(self, job: Job) -> Hit | None:
        for feed in job.feeds:
            id = feed.material
            if id in self.then_materials and self.materials.get(id) != self.then_materials[id]:
                return "material", id, f"the figures of {id} were changed"
        return None

    def last_run(self, spool: str, before: datetime) -> DryerRun | None:
        """The old plan's last run of a spool that ends by an instant."""
        return next((run for run in reversed(self.runs[spool]) if run.end <= before), None)

    @staticmethod
    def _other(spool: Spool, then: Spool) -> bool:
        return (spool.material, spool.lot, spool.certs) != (then.material, then.lot, then.certs)

    def _draws(self, plan: Plan, planned_for: Scenario) -> defaultdict[str, list[tuple[datetime, float]]]:
        """For each spool, the draws of prints that have not ended now: changeover start and grams."""
        jobs = {job.id: job for job in planned_for.jobs}
        draws: defaultdict[str, list[tuple[datetime, float]]] = defaultdict(list)
        for planned in plan.jobs:
            if planned.job not in jobs or planned.steps[3].end <= self.now:
                continue
            for choice, feed in zip(planned.feeds, jobs[planned.job].feeds, strict=False):
                draws[choice.spool].append((planned.steps[0].start, feed.grams))
        return draws

    def _down(
        self, now: Iterable[Downtime], then: tuple[Downtime, ...], start: datetime, end: datetime
    ) -> Downtime | None:
        """A downtime that the plan did not know, over one of the given minutes still to come."""
        since = max(start, self.now)
        known = {(down.start, down.end) for down in then}
        for down in now:
            if (down.start, down.end) not in known and down.start < end and down.end > since:
                return down
        return None

    def _when(self, instant: datetime) -> str:
        return self.clock.when(self.new.site.minute(instant))

    def _span(self, down: Downtime) -> str:
        reason = f" ({down.reason})" if down.reason else ""
        return f"{self._when(down.start)} to {self._when(down.end)}{reason}"


def _stoves(scenario: Scenario) -> dict[str, tuple[Downtime, ...]]:
    """Downtimes of dryers and ovens; one id is one machine."""
    down = {dryer.id: dryer.downtime for dryer in scenario.dryers}
    for oven in scenario.ovens:
        down[oven.id] = (*down.get(oven.id, ()), *oven.downtime)
    return down


def _lasting(printer: Printer) -> Printer:
    """A printer without what changes by itself in a day."""
    heads = tuple(replace(head, mounted=NOTHING) for head in printer.heads)
    return replace(printer, chamber_now_c=0.0, free_at=datetime.min, downtime=(), heads=heads)
