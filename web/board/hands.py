"""What waits for somebody's hands, in the order of the clock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.model import ATTENDED_STEPS, PlannedJob, Step
from web.queue.book import part_name
from web.shop import Shop

#: How far ahead the list looks, and how many tasks it names at least and at most.
AHEAD = timedelta(hours=8)
LEAST = 6
MOST = 40


@dataclass(frozen=True, slots=True)
class Task:
    """One call for hands: when, what to do, at which machine, with what."""

    start: datetime
    end: datetime
    doing: str
    machine: str
    machine_href: str
    detail: str
    job: str | None


def _step_task(shop: Shop, planned: PlannedJob, step: Step, names: bool) -> Task:
    part = part_name(shop, planned.job, names)
    if step.kind == "changeover":
        loads = [
            f"spool {feed.spool} ({shop.spools[feed.spool].material}) on {feed.head}, nozzle {feed.nozzle}"
            if feed.spool in shop.spools
            else f"spool {feed.spool} on {feed.head}"
            for feed in planned.feeds
        ]
        doing, detail = "Change over", "; ".join(loads)
    elif step.kind == "start":
        doing, detail = "Watch the start on", part
    else:
        doing, detail = "Unload", part
    href = f"/fleet/printers/{planned.printer}"
    return Task(step.start, step.end, doing, planned.printer, href, detail, planned.job)


def tasks(shop: Shop, names: bool) -> Iterator[Task]:
    """Every task of the shown plan, in no order; for ``names`` see :func:`part_name`."""
    plan = shop.plan
    if plan is None:
        return
    for planned in plan.jobs:
        for step in planned.steps:
            if step.kind in ATTENDED_STEPS:
                yield _step_task(shop, planned, step, names)
    site = shop.scenario.site
    for run in plan.dryer_runs:
        end = min(run.end, run.start + timedelta(minutes=site.dryer_load_min))
        noun = "spool" if len(run.spools) == 1 else "spools"
        detail = f"{noun} {', '.join(run.spools)} at {run.setpoint_c:g} °C"
        yield Task(run.start, end, "Load the dryer", run.dryer, f"/fleet/dryers/{run.dryer}", detail, None)
    for oven_run in plan.oven_runs:
        end = min(oven_run.end, oven_run.start + timedelta(minutes=site.oven_load_min))
        detail = f"{', '.join(oven_run.jobs)} at {oven_run.temp_c:g} °C"
        href = f"/fleet/ovens/{oven_run.oven}"
        yield Task(oven_run.start, end, "Load the oven", oven_run.oven, href, detail, None)


def coming(shop: Shop, now: datetime, names: bool) -> tuple[Task, ...]:
    """What waits for hands now and next: the coming hours, or the next few tasks if they are far off."""
    ordered = sorted(
        (task for task in tasks(shop, names) if task.end > now), key=lambda task: (task.start, task.machine)
    )
    soon = sum(task.start < now + AHEAD for task in ordered)
    return tuple(ordered[: min(max(soon, LEAST), MOST)])
