"""What began before ``plan_start`` stands as given."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.checking.breach import Breach
from scheduler.checking.view import PREHEAT, Stint, View, choices_text
from scheduler.model import PRINTER_STEPS, DryerRun, OvenRun, Progress


def check_jobs(view: View) -> Iterator[Breach]:
    """Begun jobs stay, on their printer, with their feeds and steps."""
    for job in view.scenario.jobs:
        if job.progress is None:
            continue
        who, stint = f"job {job.id}", view.stints.get(job.id)
        if job.id not in view.named:
            yield Breach(
                "under way", who, f"it has begun on printer {job.progress.printer} and is not placed"
            )
        if stint is not None:
            yield from _check_given(view, stint, job.progress)


def _check_given(view: View, stint: Stint, given: Progress) -> Iterator[Breach]:
    site = view.scenario.site
    if stint.printer.id != given.printer:
        text = f"it is placed on printer {stint.printer.id} and has begun on {given.printer}"
        yield Breach("under way", stint.who, text)
    if stint.planned.feeds != given.feeds:
        text = f"it has begun with {choices_text(given.feeds)}, placed: {choices_text(stint.planned.feeds)}"
        yield Breach("under way", stint.who, text)
    for step, given_step in enumerate(given.steps):
        start, end = site.minute(given_step.start), site.minute(given_step.end)
        held = step == PREHEAT and stint.begun == PREHEAT + 1 and stint.ends[step] >= end
        if stint.starts[step] != start or (stint.ends[step] != end and not held):
            text = (
                f"its begun {PRINTER_STEPS[step]} is given from {view.between(start, end)}, "
                f"placed: {view.between(stint.starts[step], stint.ends[step])}"
            )
            yield Breach("under way", stint.who, text)


def check_runs(view: View) -> Iterator[Breach]:
    """Begun runs are in the plan as they are given."""
    plan, given = view.plan, view.scenario.under_way
    dryer_runs = {run.id: run for run in plan.dryer_runs}
    for drying in given.dryer_runs:
        planned = dryer_runs.get(drying.id)
        if planned is None or _dryer_key(planned) != _dryer_key(drying):
            yield Breach("under way", f"dryer run {drying.id}", _difference(planned is None))
    oven_runs = {run.id: run for run in plan.oven_runs}
    for annealing in given.oven_runs:
        baked = oven_runs.get(annealing.id)
        if baked is None or _oven_key(baked) != _oven_key(annealing):
            yield Breach("under way", f"oven run {annealing.id}", _difference(baked is None))


def _dryer_key(run: DryerRun) -> tuple[object, ...]:
    return run.dryer, run.setpoint_c, run.start, run.end, sorted(run.spools)


def _oven_key(run: OvenRun) -> tuple[object, ...]:
    return run.oven, run.temp_c, run.start, run.end, sorted(run.jobs)


def _difference(missing: bool) -> str:
    return "it has begun and is not in the plan" if missing else "it has begun and is not as it was given"
