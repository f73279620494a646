"""How a job stands in the shown plan: promised when, late by how much, where it is by now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from scheduler.model import Job, PlannedJob
from web.reasons import cannot_be_made
from web.shop import Shop

Standing = Literal["on-time", "late", "cannot", "no-place", "unplanned"]

#: What each standing is called, in the order in which a filter offers them.
STANDING_WORDS: dict[Standing, str] = {
    "late": "Late",
    "cannot": "Cannot be made",
    "no-place": "No place",
    "on-time": "On time",
    "unplanned": "Not planned yet",
}

#: What is happening to a job during each step, by the plan.
DURING = {
    "changeover": "changeover",
    "preheat": "preheating",
    "start": "first layer",
    "print": "printing",
    "cooldown": "cooling down",
    "unload": "being unloaded",
}


@dataclass(frozen=True, slots=True)
class JobStand:
    """A job with its place in the shown plan.

    ``state`` tells what the plan has happening to it now; ``slack_min`` is due minus done, minutes,
    ``None`` without a due date or a place.
    """

    job: Job
    planned: PlannedJob | None
    standing: Standing
    state: str
    slack_min: int | None

    @property
    def done(self) -> datetime | None:
        return self.planned.done if self.planned else None

    @property
    def late_min(self) -> int:
        return max(0, -self.slack_min) if self.slack_min is not None else 0


def stand(shop: Shop, job: Job, now: datetime) -> JobStand:
    """How one job stands."""
    planned = shop.planned.get(job.id)
    if planned is not None:
        # The due date of now counts, not that of the day on which the plan was made.
        slack = None if job.due is None else (job.due - planned.done) // timedelta(minutes=1)
        standing: Standing = "late" if slack is not None and slack < 0 else "on-time"
        return JobStand(job, planned, standing, _state(shop, planned, now), slack)
    unplaced = shop.unplaced.get(job.id)
    if unplaced is None:
        return JobStand(job, None, "unplanned", "added since the plan" if shop.plan else "no plan yet", None)
    if cannot_be_made(unplaced):
        return JobStand(job, None, "cannot", "waits for a decision", None)
    return JobStand(job, None, "no-place", "waits for a decision", None)


def _state(shop: Shop, planned: PlannedJob, now: datetime) -> str:
    steps = planned.steps
    if now < steps[0].start:
        return _before(shop, planned, now)
    for step in steps:
        if now < step.start:
            return (
                "kept until somebody starts it" if step.kind == "preheat" else "cooled, waits to be unloaded"
            )
        if now < step.end:
            return DURING[step.kind]
    return _after(shop, planned, now)


def _before(shop: Shop, planned: PlannedJob, now: datetime) -> str:
    spools = {choice.spool for choice in planned.feeds}
    runs = shop.plan.dryer_runs if shop.plan else ()
    for run in runs:
        if run.start <= now < run.end and spools & set(run.spools):
            return f"filament drying in {run.dryer}"
    return "waiting"


def _after(shop: Shop, planned: PlannedJob, now: datetime) -> str:
    if now >= planned.done:
        return "done"
    runs = shop.plan.oven_runs if shop.plan else ()
    run = next((run for run in runs if run.id == planned.oven_run), None)
    if run is not None and now < run.start:
        return f"waits for oven {run.oven}"
    if run is not None and now < run.end:
        return f"annealing in {run.oven}"
    return "finishing work"
