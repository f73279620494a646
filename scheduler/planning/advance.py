"""The shop at a later minute, if everything went as a plan says."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import datetime

from scheduler.model import (
    DryerRun,
    Head,
    Job,
    Mounted,
    OvenRun,
    Plan,
    PlannedJob,
    Printer,
    Progress,
    Scenario,
    Spool,
    UnderWay,
)
from scheduler.physics import cooldown_c


def advance(scenario: Scenario, plan: Plan, now: datetime) -> Scenario:
    """The shop at ``now``: what is done has left, what has begun is under way, spools and chambers as used.

    Parameters
    ----------
    scenario : Scenario
        The shop for which the plan was made.
    now : datetime
        A whole minute at or after its ``plan_start``.

    Returns
    -------
    Scenario
        It begins at ``now``. A finished job stays only as long as another must share its lot.

    Raises
    ------
    ValueError
        If ``now`` lies before the shop's ``plan_start``.
    """
    then = scenario.site.plan_start
    if now < then:
        raise ValueError(f"{now.isoformat()} lies before the shop's {then.isoformat()}")
    plan = _still_there(scenario, plan)
    shop = _Shop(scenario, plan, now)
    jobs = shop.jobs()
    known = {job.id for job in jobs}
    return replace(
        scenario,
        site=replace(scenario.site, plan_start=now),
        printers=tuple(shop.printer(printer) for printer in scenario.printers),
        spools=tuple(shop.spool(spool) for spool in scenario.spools),
        jobs=jobs,
        under_way=UnderWay(
            tuple(run for run in plan.dryer_runs if run.start < now < run.end),
            tuple(
                replace(run, jobs=tuple(job for job in run.jobs if job in known))
                for run in plan.oven_runs
                if run.start < now and known.intersection(run.jobs)
            ),
        ),
    )


def _still_there(scenario: Scenario, plan: Plan) -> Plan:
    """The plan without what was taken out of the shop since it was made: it is not carried out."""
    jobs, printers = {job.id for job in scenario.jobs}, {printer.id for printer in scenario.printers}
    spools = {spool.id for spool in scenario.spools}
    dryers, ovens = {dryer.id for dryer in scenario.dryers}, {oven.id for oven in scenario.ovens}
    kept = tuple(
        planned
        for planned in plan.jobs
        if planned.job in jobs
        and planned.printer in printers
        and all(choice.spool in spools for choice in planned.feeds)
    )
    placed = {planned.job for planned in kept}
    dryings = [
        replace(run, spools=tuple(spool for spool in run.spools if spool in spools))
        for run in plan.dryer_runs
        if run.dryer in dryers
    ]
    bakes = [
        replace(run, jobs=tuple(job for job in run.jobs if job in placed))
        for run in plan.oven_runs
        if run.oven in ovens
    ]
    return replace(
        plan,
        jobs=kept,
        dryer_runs=tuple(run for run in dryings if run.spools),
        oven_runs=tuple(run for run in bakes if run.jobs),
    )


@dataclass(frozen=True)
class _Stay:
    """A spool on a head: from changeover to unload."""

    planned: PlannedJob
    feed: int
    start: datetime
    end: datetime


class _Shop:
    def __init__(self, scenario: Scenario, plan: Plan, now: datetime) -> None:
        self.scenario, self.plan, self.now = scenario, plan, now
        self.then = scenario.site.plan_start
        self.planned = {planned.job: planned for planned in plan.jobs}
        self.job_of = {job.id: job for job in scenario.jobs}
        self.materials = {material.id: material for material in scenario.materials}
        self.bakes: dict[str, OvenRun] = {job: run for run in plan.oven_runs for job in run.jobs}
        self.stays: dict[str, list[_Stay]] = {}
        self.on_head: dict[tuple[str, str], list[_Stay]] = {}
        self.on_printer: dict[str, list[PlannedJob]] = {}
        for planned in sorted(plan.jobs, key=lambda planned: planned.steps[0].start):
            if planned.steps[0].start >= now:
                continue
            self.on_printer.setdefault(planned.printer, []).append(planned)
            for feed, choice in enumerate(planned.feeds):
                stay = _Stay(planned, feed, planned.steps[0].start, planned.steps[-1].end)
                self.stays.setdefault(choice.spool, []).append(stay)
                self.on_head.setdefault((planned.printer, choice.head), []).append(stay)
        self.dryings: dict[str, list[DryerRun]] = {}
        for run in sorted(plan.dryer_runs, key=lambda run: run.start):
            for spool in run.spools:
                if run.start < now:
                    self.dryings.setdefault(spool, []).append(run)

    def _finished(self, job_id: str) -> bool:
        planned = self.planned.get(job_id)
        if planned is None or planned.steps[-1].end > self.now:
            return False
        if not self.job_of[job_id].anneal:
            return True
        bake = self.bakes.get(job_id)
        # Without a run no oven stands it; the plan then names the broken rule and leaves it at that.
        return bake is None or bake.end <= self.now

    def jobs(self) -> tuple[Job, ...]:
        """Jobs not finished, and those that tell a lot to one that has not begun."""
        finished = {job.id for job in self.scenario.jobs if self._finished(job.id)}
        asked = {
            job.same_lot_as
            for job in self.scenario.jobs
            if job.same_lot_as is not None and not self._begun(job.id)
        }
        out = []
        for job in self.scenario.jobs:
            if job.id in finished and job.id not in asked:
                continue
            lot = job.same_lot_as
            if lot in finished and lot not in asked:
                lot = None
            out.append(replace(job, same_lot_as=lot, progress=self._progress(job)))
        return tuple(out)

    def _begun(self, job_id: str) -> bool:
        planned = self.planned.get(job_id)
        return planned is not None and planned.steps[0].start < self.now

    def _progress(self, job: Job) -> Progress | None:
        if not self._begun(job.id):
            return None
        planned = self.planned[job.id]
        begun = tuple(step for step in planned.steps if step.start < self.now)
        return Progress(planned.printer, planned.feeds, begun)

    def spool(self, spool: Spool) -> Spool:
        """What is left on it, and how dry it is."""
        grams = spool.grams
        for stay in self.stays.get(spool.id, ()):
            if self.then < stay.planned.steps[3].end <= self.now:
                grams -= self.job_of[stay.planned.job].feeds[stay.feed].grams
        dried, exposed = self._dryness(spool)
        ended = [run for run in self.dryings.get(spool.id, ()) if run.end <= self.now]
        return replace(
            spool,
            grams=max(0.0, round(grams, 6)),
            dried=dried,
            exposed_min=exposed,
            drying=None if ended else spool.drying,
        )

    def _dryness(self, spool: Spool) -> tuple[bool, int]:
        """Whether it is dried, and its exposure, minutes, counted as the plan's rules do."""
        if not self.materials[spool.material].drying:
            return spool.dried, spool.exposed_min
        dried, exposed = spool.dried, spool.exposed_min
        at = max(self.then, spool.available_from)
        open_air = not self.scenario.site.dry_storage
        events: list[tuple[datetime, datetime, bool]] = [
            (run.start, run.end, True) for run in self.dryings.get(spool.id, ())
        ]
        counted = {stay.start: self._counts(stay.planned, stay.feed) for stay in self.stays.get(spool.id, ())}
        events += [(stay.start, stay.end, False) for stay in self.stays.get(spool.id, ())]
        for start, end, drying in sorted(events):
            if end <= self.then:
                continue
            if dried and open_air and start > at:
                exposed += _minutes(at, start)
            at = max(at, start)
            until = min(end, self.now)
            if drying:
                if end <= self.now:
                    dried, exposed = True, 0
            elif dried and counted[start]:
                exposed += max(0, _minutes(at, until))
            at = max(at, until)
        if dried and open_air and self.now > at:
            exposed += _minutes(at, self.now)
        return dried, exposed

    def _counts(self, planned: PlannedJob, feed: int) -> bool:
        printer = next(p for p in self.scenario.printers if p.id == planned.printer)
        return not next(h for h in printer.heads if h.id == planned.feeds[feed].head).dry_feed

    def printer(self, printer: Printer) -> Printer:
        """What was last on its heads, and how warm its chamber is."""
        return replace(
            printer,
            chamber_now_c=self._chamber_c(printer),
            heads=tuple(self._head(printer, head) for head in printer.heads),
        )

    def _head(self, printer: Printer, head: Head) -> Head:
        here = [stay for stay in self.on_head.get((printer.id, head.id), ()) if stay.end > self.then]
        if not here:
            mounted = head.mounted
            if mounted.spool is not None and self._left(mounted.spool, self.then, None):
                return replace(head, mounted=replace(mounted, spool=None))
            return head
        last = here[-1]
        choice = last.planned.feeds[last.feed]
        spool = None if self._left(choice.spool, last.end, last) else choice.spool
        material = self.job_of[last.planned.job].feeds[last.feed].material
        return replace(head, mounted=Mounted(spool, material, choice.nozzle))

    def _left(self, spool: str, since: datetime, last: _Stay | None) -> bool:
        """True if the spool has been in a dryer or on another head since."""
        return any(run.end > since for run in self.dryings.get(spool, ())) or any(
            stay is not last and stay.start >= since for stay in self.stays.get(spool, ())
        )

    def _chamber_c(self, printer: Printer) -> float:
        ambient = self.scenario.site.ambient_c
        if printer.chamber_max_c is None:
            return printer.chamber_now_c
        temp, since = printer.chamber_now_c, self.then
        for planned in self.on_printer.get(printer.id, ()):
            _, preheat, start, _, cooling, _ = planned.steps
            if cooling.end <= self.then:
                continue
            if self.now >= cooling.start:
                until = min(self.now, cooling.end)
                temp = self._cooled(planned, printer, _minutes(cooling.start, until))
                since = until
            elif self.now >= start.start:
                return planned.chamber_c
            elif self.now > preheat.start and printer.chamber_reach_c is not None:
                temp = _faded(temp, ambient, _minutes(since, preheat.start), printer.cool_tau_min)
                if temp < planned.chamber_c:
                    reach = printer.chamber_reach_c
                    heated = _minutes(preheat.start, self.now)
                    warm = reach - (reach - temp) * math.exp(-heated / printer.heat_tau_min)
                    return min(planned.chamber_c, warm)
                since = preheat.start
        return _faded(temp, ambient, _minutes(since, self.now), printer.cool_tau_min)

    def _cooled(self, planned: PlannedJob, printer: Printer, minutes: int) -> float:
        caps = [self.materials[feed.material].max_cool_c_per_min for feed in self.job_of[planned.job].feeds]
        given = [cap for cap in caps if cap is not None]
        return cooldown_c(
            planned.chamber_c,
            minutes,
            min(given) if given else None,
            printer.cool_tau_min,
            self.scenario.site.ambient_c,
        )


def _faded(temp_c: float, ambient_c: float, minutes: int, tau_min: float) -> float:
    """An idle chamber after some minutes, °C."""
    return ambient_c + (temp_c - ambient_c) * math.exp(-max(0, minutes) / tau_min)


def _minutes(start: datetime, end: datetime) -> int:
    return round((end - start).total_seconds() / 60)
