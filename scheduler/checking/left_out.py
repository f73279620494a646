"""A job is left out for want of time, or for its pin, only if it has no valid place beside the rest."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import islice

from scheduler.checking.breach import Breach
from scheduler.checking.reading import read
from scheduler.checking.room import Place, Room
from scheduler.checking.view import View
from scheduler.matching import Matcher
from scheduler.model import Job, Plan

#: Places of one job that are judged by all rules.
MOST_TRIES = 100

Judge = Callable[[View], list[Breach]]


def check_left_out(view: View, matcher: Matcher, judge: Judge) -> Iterator[Breach]:
    """Look for a place for each job unplaced with ``horizon`` or ``pinned``.

    Parameters
    ----------
    judge : callable
        The breaches of a view that count, those of the rest of the plan already known to be none.
    """
    room: Room | None = None
    for unplaced in view.plan.unplaced:
        job = view.jobs.get(unplaced.job)
        checks = {reason.check for reason in unplaced.reasons}
        if job is None or job.progress is not None or job.id in view.named:
            continue
        if not checks & {"horizon", "pinned"} or not matcher.fits_something(job.id):
            continue
        if job.pinned is not None:
            alone = beside_pins(view, job)
            place = find_place(Room(alone, matcher), job, judge) if not judge(alone) else None
            rest = "begun work and the pinned jobs of lower id"
        else:
            room = room or Room(view, matcher)
            place = find_place(room, job, judge)
            rest = "the rest of this plan"
        if place is not None:
            why = "its pin" if job.pinned is not None else "want of time"
            text = f"it is unplaced for {why}; beside {rest} it has a place: {_said(view, place)}"
            yield Breach("complete", f"job {job.id}", text)


def find_place(room: Room, job: Job, judge: Judge) -> Place | None:
    """A place for the job that breaks no rule, its own or another's; ``None``: none was found."""
    for place in islice(room.places(job), MOST_TRIES):
        # A judgement by all rules costs about as much as looking at so many minutes.
        room.looks -= 10 * len(room.view.stints)
        view, unread = read(room.view.scenario, with_place(room.view.plan, place))
        if not unread and not judge(view):
            return place
    return None


def with_place(plan: Plan, place: Place) -> Plan:
    """The plan with the job in that place; its figures are still those without."""
    return replace(
        plan,
        jobs=(*plan.jobs, place.planned),
        dryer_runs=(*plan.dryer_runs, *place.dryer_runs),
        oven_runs=(*plan.oven_runs, *place.oven_runs),
        unplaced=tuple(one for one in plan.unplaced if one.job != place.planned.job),
    )


def beside_pins(view: View, job: Job) -> View:
    """The plan with nothing but begun work, pinned jobs of lower id, and the runs that these need."""
    plan = view.plan
    kept = {
        name
        for name, stint in view.stints.items()
        if stint.under_way or (stint.job.pinned is not None and name < job.id)
    }
    ends: dict[str, int] = {}
    for name in kept:
        stint = view.stints[name]
        if not stint.under_way:
            for spool in stint.spools:
                ends[spool.id] = max(ends.get(spool.id, 0), stint.first)
    dryings = [
        replace(drying.run, spools=tuple(s for s in drying.run.spools if drying.begun or s in ends))
        for drying in view.dryings
        if drying.begun or any(drying.end <= ends.get(spool.id, 0) for spool in drying.spools)
    ]
    bakes = [
        annealing.run for annealing in view.annealings if annealing.begun or set(annealing.run.jobs) <= kept
    ]
    there, _ = read(
        view.scenario,
        replace(
            plan,
            jobs=tuple(one for one in plan.jobs if one.job in kept),
            dryer_runs=tuple(dryings),
            oven_runs=tuple(bakes),
            unplaced=(),
        ),
    )
    return there


def _said(view: View, place: Place) -> str:
    steps, minute = place.planned.steps, view.scenario.site.minute
    spools = " and ".join(choice.spool for choice in place.planned.feeds)
    text = (
        f"printer {place.planned.printer} with spool {spools}, "
        f"{view.between(minute(steps[0].start), minute(steps[-1].end))}"
    )
    for drying in place.dryer_runs:
        text += f", dryer {drying.dryer} {view.between(minute(drying.start), minute(drying.end))}"
    for annealing in place.oven_runs:
        text += f", oven {annealing.oven} {view.between(minute(annealing.start), minute(annealing.end))}"
    return text
