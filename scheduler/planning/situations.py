"""What if a machine died now, a person were missing, a rush job came: planned anew and compared."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta

from scheduler.model import Downtime, Job, Plan, Scenario, Shift, Spool
from scheduler.model.errors import SoaklineError
from scheduler.planning.make import make_plan
from scheduler.planning.moves import Moves, moves
from scheduler.planning.whatif import late_hours
from scheduler.planning.whatif.changes import free_id, with_printer

#: Rounds of the search for each of the two plans.
ROUNDS = 1000
MINUTE = timedelta(minutes=1)


class NoSuchThing(SoaklineError):
    """The situation names something that is not in the shop, or a figure that makes no sense."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a situation does to a plan.

    Attributes
    ----------
    found : Moves
        What would move, beside the plan as it stands.
    late_h_today, late_h_before, late_h_after : float
        Weighted late hours of the plan as it stands, planned again with nothing happening, and planned again
        in the situation. A rush job's own count in the last.
    newly_late : tuple of str
        Jobs late after, and not when planned again with nothing happening.
    seconds : float
        What it took.
    """

    found: Moves
    late_h_today: float
    late_h_before: float
    late_h_after: float
    newly_late: tuple[str, ...]
    seconds: float


def machine_down(scenario: Scenario, printer_id: str, hours: float) -> Scenario:
    """The shop with a printer that stops now and comes back after some hours.

    What prints there fails and is done again: the filament laid down so far is gone. A part that only cools
    down or waits to be taken off is kept.
    """
    printer = next((one for one in scenario.printers if one.id == printer_id), None)
    if printer is None:
        raise NoSuchThing(f"there is no printer {printer_id} in this shop")
    if not 0 < hours <= 24 * 60:
        raise NoSuchThing(f"a machine can be down for more than 0 and up to 1440 hours, not {hours:g}")
    now = scenario.site.plan_start
    stop = Downtime(now, now + round(hours * 60) * MINUTE, "tried: down")
    shop = with_printer(scenario, replace(printer, downtime=(*printer.downtime, stop)))
    jobs, used = [], dict[str, float]()
    for job in shop.jobs:
        if job.progress is None or job.progress.printer != printer_id or _is_printed(job, scenario):
            jobs.append(job)
            continue
        share = _printed_share(job, scenario)
        for choice, feed in zip(job.progress.feeds, job.feeds, strict=True):
            used[choice.spool] = used.get(choice.spool, 0.0) + share * feed.grams
        jobs.append(replace(job, progress=None))
    spools = tuple(_drawn(spool, used.get(spool.id, 0.0)) for spool in shop.spools)
    return replace(shop, jobs=tuple(jobs), spools=spools)


def person_less(scenario: Scenario, number: int) -> Scenario:
    """The shop with one person less on the shift of a number, counted from 0 in the scenario's order."""
    if not 0 <= number < len(scenario.shifts):
        raise NoSuchThing(f"there is no shift {number}; there are {len(scenario.shifts)}")
    shift = scenario.shifts[number]
    now = scenario.site.plan_start
    if shift.end <= now:
        raise NoSuchThing("that shift is over")
    rest = [one for at, one in enumerate(scenario.shifts) if at != number]
    if shift.start < now:
        rest.append(Shift(shift.start, now, shift.hands))
    if shift.hands > 1:
        rest.append(Shift(max(shift.start, now), shift.end, shift.hands - 1))
    if not any(one.end > now for one in rest):
        raise NoSuchThing("nobody would be left in the shop, now or later")
    return replace(scenario, shifts=tuple(rest))


def rush_job(scenario: Scenario, like_id: str, due_h: float, weight: float) -> tuple[Scenario, str]:
    """The shop with one more job like another, and its id.

    Parameters
    ----------
    due_h : float
        Hours from now until it is due.
    weight : float
        Cost of one late hour, in late hours.
    """
    like = next((job for job in scenario.jobs if job.id == like_id), None)
    if like is None:
        raise NoSuchThing(f"there is no job {like_id} in this shop")
    if not 0 < due_h <= 24 * 60:
        raise NoSuchThing(f"a rush job is due in more than 0 and up to 1440 hours, not {due_h:g}")
    if not 0 < weight <= 1000:
        raise NoSuchThing(f"a weight lies above 0 and up to 1000, not {weight:g}")
    now = scenario.site.plan_start
    id = free_id(f"{like_id}-rush", {job.id: job for job in scenario.jobs})
    rush = replace(
        like,
        id=id,
        order=id,
        release=now,
        due=now + round(due_h * 60) * MINUTE,
        weight=weight,
        same_lot_as=None,
        pinned=None,
        progress=None,
    )
    return replace(scenario, jobs=(*scenario.jobs, rush)), id


def outcome(
    scenario: Scenario,
    plan: Plan,
    changed: Scenario,
    *,
    rounds: int = ROUNDS,
    timer: Callable[[], float] = time.monotonic,
    stop: Callable[[], bool] = lambda: False,
) -> Outcome:
    """Plan the shop again with and without what happens, each from the plan that stands.

    Parameters
    ----------
    scenario, plan
        The shop of now, and the plan that the floor works to.
    changed : Scenario
        The shop in the situation.
    """
    began = timer()
    before, after = (
        make_plan(
            shop,
            scenario_hash=plan.scenario_hash,
            made_at=scenario.site.plan_start,
            previous=plan,
            rounds=rounds,
            chains=1,
            stop=stop,
        )
        for shop in (scenario, changed)
    )
    late = {one.job for one in before.jobs if one.late_min}
    return Outcome(
        found=moves(scenario, plan, changed, after),
        late_h_today=late_hours(scenario, plan),
        late_h_before=late_hours(scenario, before),
        late_h_after=late_hours(changed, after),
        newly_late=tuple(one.job for one in after.jobs if one.late_min and one.job not in late),
        seconds=timer() - began,
    )


def _is_printed(job: Job, scenario: Scenario) -> bool:
    """True if its print has ended."""
    assert job.progress is not None
    ends = [step.end for step in job.progress.steps if step.kind == "print"]
    return bool(ends) and ends[0] <= scenario.site.plan_start


def _printed_share(job: Job, scenario: Scenario) -> float:
    """How much of its print is done, 0 to 1."""
    assert job.progress is not None
    for step in job.progress.steps:
        if step.kind == "print":
            return min(1.0, (scenario.site.plan_start - step.start) / (step.end - step.start))
    return 0.0


def _drawn(spool: Spool, grams: float) -> Spool:
    return spool if grams == 0.0 else replace(spool, grams=max(0.0, round(spool.grams - grams, 6)))
