"""Overtime of a hold: taken back when the hold ends, unless somebody else needs it by then."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from scheduler.model import Plan, Scenario, Shift
from scheduler.planning.explain.words import Clockwork
from scheduler.store import Quote, Unit

#: Steps of a job that somebody does, on its printer.
ATTENDED = ("changeover", "start", "unload")


@dataclass(frozen=True, slots=True)
class Returned:
    """What became of one overtime; ``stays`` says why it is still in the shifts, empty if it is not."""

    shift: Shift
    stays: str

    def told(self, clock: Clockwork, scenario: Scenario) -> str:
        """In a sentence."""
        minute = scenario.site.minute
        when = f"{clock.when(minute(self.shift.start))} to {clock.when(minute(self.shift.end))}"
        if self.stays:
            return f"Overtime {when} stays in the shifts: {self.stays}."
        return f"Overtime {when} is taken back."


def take_back(unit: Unit, quote: Quote, now: datetime) -> tuple[str, ...]:
    """Take a quote's overtime out of the shifts as far as nobody else needs it; what became of each, told.

    To be called when the quote's jobs have left the shop.
    """
    held = unit.quotes.held_shifts(quote.number)
    if not held:
        return ()
    scenario = unit.fleet.load()
    published = unit.plans.published()
    plan = published.plan if published else None
    clock = Clockwork(scenario.site)
    left, found = list(scenario.shifts), []
    for shift in held:
        stays = _needed(scenario, plan, left, shift, now, clock)
        if not stays:
            left.remove(shift)
        found.append(Returned(shift, stays).told(clock, scenario))
    if len(left) < len(scenario.shifts):
        unit.fleet.save_site(scenario.site, tuple(left))
    return tuple(found)


def _needed(
    scenario: Scenario, plan: Plan | None, shifts: list[Shift], shift: Shift, now: datetime, clock: Clockwork
) -> str:
    """Why a shift can't be taken back; empty if it can."""
    if shift not in shifts:
        return "somebody has changed it since"
    if shift.start <= now:
        return "it has begun"
    if plan is None:
        return ""
    others = list(shifts)
    others.remove(shift)
    within = [use for use in _uses(scenario, plan) if use.start < shift.end and use.end > shift.start]
    # Where demand or hands change between the ends of the shift.
    marks = {shift.start}
    ends = [(use.start, use.end) for use in within] + [(other.start, other.end) for other in others]
    marks.update(at for span in ends for at in span if shift.start < at < shift.end)
    for at in sorted(marks):
        here = [use for use in within if use.start <= at < use.end]
        hands = sum(other.hands for other in others if other.start <= at < other.end)
        if sum(use.hands for use in here) > hands or (here and hands == 0):
            use = max(here, key=lambda one: (one.hands, one.start))
            when = clock.when(scenario.site.minute(max(use.start, shift.start)))
            return f"{use.who} needs somebody there from {when} on, by the published plan"
    return ""


@dataclass(frozen=True, slots=True)
class _Use:
    """Somebody must be there: as a hand for the work itself (1), or just on the premises (0)."""

    who: str
    start: datetime
    end: datetime
    hands: int


def _uses(scenario: Scenario, plan: Plan) -> Iterator[_Use]:
    """Everything of a plan that needs people, but jobs that are in the shop no more."""
    jobs = {job.id for job in scenario.jobs}
    watched = {printer.id for printer in scenario.printers if not printer.unattended}
    for planned in plan.jobs:
        if planned.job not in jobs:
            continue
        for step in planned.steps:
            if step.kind in ATTENDED:
                yield _Use(f"job {planned.job} ({step.kind})", step.start, step.end, 1)
            if planned.printer in watched and step.kind not in ("changeover", "unload"):
                yield _Use(f"job {planned.job} ({step.kind})", step.start, step.end, 0)
    site = scenario.site
    spools = {spool.id for spool in scenario.spools}
    for run in plan.dryer_runs:
        if spools.intersection(run.spools):
            load = min(run.end, site.instant(site.minute(run.start) + site.dryer_load_min))
            yield _Use(f"loading {run.dryer}", run.start, load, 1)
    for baking in plan.oven_runs:
        if jobs.intersection(baking.jobs):
            load = min(baking.end, site.instant(site.minute(baking.start) + site.oven_load_min))
            yield _Use(f"loading {baking.oven}", baking.start, load, 1)
