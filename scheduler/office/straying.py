"""After a surprise on the floor: whether a new plan is wanted, and whether it may be published alone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from scheduler.model import Plan
from scheduler.office import plans
from scheduler.office.clock import Clock
from scheduler.office.refused import Refused
from scheduler.store import Event, Record, Unit


@dataclass(frozen=True, slots=True)
class Wanted:
    """A plan is wanted because of an event that the published plan did not foresee."""

    event: int
    why: str


def wanted(unit: Unit) -> Wanted | None:
    """The surprise that no plan has taken in yet; ``None`` if there is none."""
    floor = unit.floor.state()
    if floor is None or not floor.strayed_event:
        return None
    for number in (unit.plans.published_number(), unit.plans.newest_number()):
        if number and _knows(unit, number) >= floor.strayed_event:
            return None
    return Wanted(floor.strayed_event, floor.strayed_why)


def _knows(unit: Unit, number: int) -> int:
    basis = unit.plans.basis(number)
    return basis[1] if basis else 0


def beyond_limits(old: Plan, new: Plan, later_min: int) -> str | None:
    """Why a person must look at a new plan first; ``None`` if it may be published alone.

    Parameters
    ----------
    later_min : int
        By how much a job may be done later than in the published plan and late, minutes.
    """
    before = {planned.job: planned for planned in old.jobs}
    for planned in new.jobs:
        was = before.get(planned.job)
        if was is None or not planned.late_min:
            continue
        later = (planned.done - was.done) // timedelta(minutes=1)
        if later > later_min:
            return f"{planned.job} would be {later} min later than published"
    lost = {unplaced.job for unplaced in new.unplaced} & before.keys()
    if lost:
        return f"{', '.join(sorted(lost)[:3])} would lose its place"
    return None


def settle(record: Record, clock: Clock, number: int) -> str | None:
    """Publish a plan that was made after a surprise, if the manager's limits allow it.

    Returns
    -------
    str or None
        Why it waits for a person; ``None`` if it was published or is no proposal any more.
    """
    with record.reading() as unit:
        made, published, floor = unit.plans.get(number), unit.plans.published(), unit.floor.state()
    if made is None or made.state != "proposal" or floor is None:
        return None
    why = None if floor.publish_alone else "plans are published by a person here"
    if why is None and published is not None:
        why = beyond_limits(published.plan, made.plan, floor.later_min)
    if why is None:
        try:
            plans.publish(record, clock, number, plans.PLANNER)
        except Refused as refusal:
            why = str(refusal)
    if why is not None:
        with record.writing() as unit:
            unit.events.append(
                Event(clock(), "plan waits for a person", plans.PLANNER, "plan", str(number), {"why": why})
            )
    return why


def set_aside_older(record: Record, clock: Clock, event: int) -> None:
    """Discard proposals that know nothing of an event of the floor."""
    with record.reading() as unit:
        stale = [
            summary.number
            for summary in unit.plans.list()
            if summary.state == "proposal" and _knows(unit, summary.number) < event
        ]
    for number in stale:
        try:
            plans.discard(record, clock, number, plans.PLANNER)
        except Refused:
            continue
