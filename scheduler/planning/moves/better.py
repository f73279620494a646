"""What became better in a shop and let a job move: a machine, a spool, hands."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from scheduler.model import ATTENDED_STEPS, Plan, PlannedJob, Scenario
from scheduler.planning.explain.hands import Hands
from scheduler.planning.explain.index import PlanIndex
from scheduler.planning.explain.words import Clockwork
from scheduler.planning.moves.causes import Cause


def betterings(
    planned_for: Scenario, new: Scenario, new_plan: Plan, touched: Collection[str]
) -> dict[str, Cause]:
    """For each touched job whose new place the shop before would not have allowed: what allows it."""
    finder = _Finder(planned_for, new, new_plan)
    found = {}
    for planned in new_plan.jobs:
        if planned.job in touched:
            cause = finder.cause(planned)
            if cause is not None:
                found[planned.job] = cause
    return found


class _Finder:
    def __init__(self, then: Scenario, new: Scenario, new_plan: Plan) -> None:
        self.clock = Clockwork(new.site)
        self.minute = new.site.minute
        self.printers = {one.id: one for one in then.printers}
        self.now_printers = {one.id: one for one in new.printers}
        self.spools = {one.id: one for one in then.spools}
        self.now_spools = {one.id: one for one in new.spools}
        self.stoves = {dryer.id for dryer in then.dryers} | {oven.id for oven in then.ovens}
        self.runs = {run.id: run for run in new_plan.oven_runs}
        self.dryers = {spool: run for run in new_plan.dryer_runs for spool in run.spools}
        moved = replace(then, site=replace(then.site, plan_start=new.site.plan_start))
        minutes = moved.site.minute
        self.people = Hands([(minutes(s.start), minutes(s.end), s.hands) for s in moved.shifts], ())
        self.work = PlanIndex(new, new_plan).hands

    def cause(self, planned: PlannedJob) -> Cause | None:
        return self._printer(planned) or self._spool(planned) or self._stove(planned) or self._hands(planned)

    def _printer(self, planned: PlannedJob) -> Cause | None:
        id = planned.printer
        then, now = self.printers.get(id), self.now_printers.get(id)
        if then is None:
            return Cause("better", id, f"{id} is new in the shop")
        start, end = planned.steps[0].start, planned.steps[-1].end
        if any(down.start < end and down.end > start for down in then.downtime):
            return Cause("better", id, f"{id} is back sooner than planned")
        if then.free_at > start:
            return Cause("better", id, f"{id} is free sooner than planned")
        if now is not None:
            for choice in planned.feeds:
                had = {nozzle.id for head in then.heads if head.id == choice.head for nozzle in head.nozzles}
                if choice.nozzle not in had:
                    return Cause("better", id, f"{id} has the nozzle {choice.nozzle} now")
        return None

    def _spool(self, planned: PlannedJob) -> Cause | None:
        for choice in planned.feeds:
            id = choice.spool
            then, now = self.spools.get(id), self.now_spools.get(id)
            if then is None:
                return Cause("better", id, f"spool {id} is new in the shop")
            if then.available_from > planned.steps[0].start:
                return Cause("better", id, f"spool {id} comes sooner than planned")
            if now is not None and now.dried and not then.dried:
                return Cause("better", id, f"spool {id} is dry sooner than planned")
        return None

    def _stove(self, planned: PlannedJob) -> Cause | None:
        ids = [self.dryers[choice.spool].dryer for choice in planned.feeds if choice.spool in self.dryers]
        if planned.oven_run is not None and planned.oven_run in self.runs:
            ids.append(self.runs[planned.oven_run].oven)
        for id in ids:
            if id not in self.stoves:
                return Cause("better", id, f"{id} is new in the shop")
        return None

    def _hands(self, planned: PlannedJob) -> Cause | None:
        for step in planned.steps:
            start, end = self.minute(step.start), self.minute(step.end)
            if step.kind not in ATTENDED_STEPS or start < 0 or end <= start:
                continue
            if len(self.work.busy_with(start, start + 1)) > self.people.people(start):
                return Cause("better", "", f"{self.clock.when(start)} more hands are there than planned")
        return None
