"""One order line at a time: asked for, changed, taken back."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from scheduler.model import Job, Scenario
from scheduler.office.clock import Clock
from scheduler.office.fleet import must_be_sound
from scheduler.office.orders.line import MOST_PLATES, BadTime, OrderLine, jobs_of, line_of, order_of
from scheduler.office.refused import Refused
from scheduler.office.shop import OFFICE
from scheduler.store import Event, Record, Unit


def recorded_line(record: Record, job_id: str) -> OrderLine | None:
    """A recorded job as the line that would ask for it; ``None`` if there is none."""
    with record.reading() as unit:
        job = next((job for job in unit.fleet.load().jobs if job.id == job_id), None)
        return line_of(job, unit.orders.get(job.order)) if job else None


def add_order(record: Record, clock: Clock, line: OrderLine, who: str = OFFICE) -> tuple[str, ...]:
    """Record a new line.

    A job that no printer fits is recorded all the same: the plan says what is missing for it.

    Returns
    -------
    tuple of str
        The ids of its jobs.

    Raises
    ------
    Refused
        If a job of one of these ids is there, or with everything that would be wrong; nothing is
        stored then.
    """
    if not 1 <= line.plates <= MOST_PLATES:
        raise Refused(f"plates: {line.plates} is not from 1 to {MOST_PLATES}")
    with record.writing() as unit:
        now = clock()
        scenario = unit.fleet.load()
        there = {job.id: job for job in scenario.jobs}
        taken = [id for id in line.job_ids if id in there]
        if taken:
            raise Refused(
                "\n".join(f"there is a job {id} already, of order {there[id].order}" for id in taken)
            )
        jobs = _jobs(line, scenario, now)
        must_be_sound(replace(scenario, jobs=scenario.jobs + jobs))
        unit.fleet.save_jobs(jobs)
        _note(unit, line, now)
        unit.events.append_all(
            [Event(now, "job added", who, "job", job.id, {"order": job.order}) for job in jobs]
        )
        return line.job_ids


def edit_order(
    record: Record, clock: Clock, line: OrderLine, seen: int | None = None, who: str = OFFICE
) -> None:
    """Change the job that a line names; its pin and what has begun of it stay.

    Parameters
    ----------
    seen : int, optional
        The version of the shop that the change is based on; refused if it is not that of now.

    Raises
    ------
    Refused
        If there is no such job, or with everything that would be wrong; nothing is stored then.
    """
    if line.plates != 1:
        raise Refused(f"plates: {line.plates} can't be asked of one job; add a line for the others")
    with record.writing() as unit:
        if seen is not None:
            unit.fleet.expect_version(seen)
        now = clock()
        scenario = unit.fleet.load()
        before = _known(scenario, line.job)
        (after,) = _jobs(line, scenario, now)
        must_be_sound(
            replace(scenario, jobs=tuple(after if job.id == after.id else job for job in scenario.jobs))
        )
        unit.fleet.save_job(after)
        _note(unit, line, now)
        names = [name for name in Job.__slots__ if getattr(before, name) != getattr(after, name)]
        unit.events.append(Event(now, "job changed", who, "job", line.job, {"fields": names}))


def remove_order(record: Record, clock: Clock, job_id: str, who: str = OFFICE) -> None:
    """Take a job back; its order goes with its last job.

    Raises
    ------
    Refused
        If there is no such job, if it has begun, or if another one names it.
    """
    with record.writing() as unit:
        scenario = unit.fleet.load()
        job = _known(scenario, job_id)
        if job.progress is not None:
            raise Refused(f"job {job_id} has begun on printer {job.progress.printer}; it can't be taken back")
        must_be_sound(replace(scenario, jobs=tuple(other for other in scenario.jobs if other.id != job_id)))
        unit.fleet.remove_job(job_id)
        unit.events.append(Event(clock(), "job removed", who, "job", job_id, {"order": job.order}))


def _known(scenario: Scenario, job_id: str) -> Job:
    for job in scenario.jobs:
        if job.id == job_id:
            return job
    raise Refused(f"there is no job {job_id}")


def _jobs(line: OrderLine, scenario: Scenario, now: datetime) -> tuple[Job, ...]:
    known = {job.id: job for job in scenario.jobs}
    try:
        return jobs_of(line, known, ZoneInfo(scenario.site.timezone), now)
    except BadTime as error:
        raise Refused(str(error)) from None


def _note(unit: Unit, line: OrderLine, now: datetime) -> None:
    before = unit.orders.get(line.order)
    # A bare row was made a moment ago if the order is new; it says nothing yet.
    known = before if before is not None and before.placed_at is not None else None
    after = order_of(line, known, now)
    if after != before:
        unit.orders.save(after)
