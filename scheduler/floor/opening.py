"""The first report: until then the shop is taken to have gone as planned, from then on as reported."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from scheduler.floor.facts import Fact
from scheduler.floor.ground import Ground
from scheduler.floor.things import (
    FloorJob,
    FloorPrinter,
    FloorRun,
    FloorSpool,
    JobState,
    Kind,
    Lengths,
    OnHead,
    Thing,
    to_data,
)
from scheduler.model import DryerRun, Job, OvenRun, Progress, Scenario, StepKind

MINUTE = timedelta(minutes=1)


def opened(ground: Ground, now_here: Scenario, at: datetime, who: str) -> Fact:
    """The fact that opens the floor.

    Parameters
    ----------
    ground : Ground
        The shop as recorded.
    now_here : Scenario
        The same shop at this minute, if all went as the published plans said.

    Returns
    -------
    Fact
        It carries each thing whose state is not what the record says any more.
    """
    things: list[dict[str, Any]] = []

    def keep(kind: Kind, thing: Thing) -> None:
        things.append({"kind": kind, **to_data(thing)})

    start = now_here.site.plan_start
    here = {job.id: job for job in now_here.jobs}
    baking = {job: run for run in now_here.under_way.oven_runs for job in run.jobs}
    standing: dict[str, FloorJob] = {}
    for job in ground.scenario.jobs:
        if job.id not in here:
            keep("job", FloorJob(job.id, 0, "passed", good=job.quantity, closed_at=start, assumed=True))
            continue
        progress = here[job.id].progress
        if progress is not None:
            state = _begun(ground, job, progress, start, baking.get(job.id) is not None)
            if job.id in baking:
                state = replace(state, oven_run=baking[job.id].id)
            standing[job.id] = state
            keep("job", state)
    on_printer = {
        state.printer: state
        for state in standing.values()
        if state.state in ("taken", "heating", "printing", "cooling")
    }
    for printer in now_here.printers:
        job_here = on_printer.get(printer.id)
        keep(
            "printer",
            FloorPrinter(
                printer.id,
                0,
                job=job_here.id if job_here else None,
                chamber_c=printer.chamber_now_c,
                chamber_at=start,
                heads=tuple(
                    OnHead(head.id, head.mounted.spool, head.mounted.material, head.mounted.nozzle)
                    for head in printer.heads
                ),
            ),
        )
    drying = {spool: run for run in now_here.under_way.dryer_runs for spool in run.spools}
    mounted = {choice.spool: state.printer for state in on_printer.values() for choice in state.feeds}
    listed = {
        head.mounted.spool: printer.id
        for printer in now_here.printers
        for head in printer.heads
        if head.mounted.spool
    }
    dried_in = {
        spool: run.id for run in (ground.plan.dryer_runs if ground.plan else ()) for spool in run.spools
    }
    for spool in now_here.spools:
        run = drying.get(spool.id)
        place, place_id = ("dryer", run.dryer) if run else ("store", None)
        if spool.id in mounted:
            place, place_id = "printer", mounted[spool.id]
        used = ground.spools[spool.id].drying is not None and spool.drying is None
        keep(
            "spool",
            FloorSpool(
                spool.id,
                0,
                place=place,
                place_id=place_id,
                grams=spool.grams,
                dried=spool.dried,
                exposed_min=spool.exposed_min,
                counted_at=max(start, spool.available_from),
                dryer_run=dried_in.get(spool.id, "before") if used else None,
                last_printer=listed.get(spool.id),
            ),
        )
    for drying_run in now_here.under_way.dryer_runs:
        keep("dryer run", _run(drying_run, drying_run.dryer, drying_run.setpoint_c, drying_run.spools))
    for oven_run in now_here.under_way.oven_runs:
        keep("oven run", _run(oven_run, oven_run.oven, oven_run.temp_c, oven_run.jobs))
    return Fact(
        at, "floor opened", who, ("shop", ground.site.name), (("shop", ground.site.name),), {"things": things}
    )


def _run(run: DryerRun | OvenRun, machine: str, temp_c: float, members: tuple[str, ...]) -> FloorRun:
    return FloorRun(
        run.id,
        0,
        machine=machine,
        temp_c=temp_c,
        members=members,
        started_at=run.start,
        due_at=run.end,
        assumed=True,
    )


def _begun(ground: Ground, job: Job, progress: Progress, start: datetime, baking: bool) -> FloorJob:
    """A job under way, each step as the plan had it."""
    steps = {step.kind: step for step in progress.steps}
    machine = ground.printers[progress.printer]
    together = ground.together(job)

    def minutes(kind: StepKind, otherwise: int) -> int:
        step = steps.get(kind)
        return otherwise if step is None else (step.end - step.start) // MINUTE

    planned = ground.planned.get(job.id)
    forecast = {step.kind: (step.end - step.start) // MINUTE for step in planned.steps} if planned else {}
    lengths = Lengths(
        minutes("changeover", 0),
        minutes("preheat", forecast.get("preheat", 0)),
        minutes("start", ground.site.start_min),
        minutes("print", forecast.get("print", job.print_min)),
        minutes("cooldown", together.cooldown(machine, ground.site.ambient_c).minutes),
        ground.site.unload_min,
    )
    unload = steps.get("unload")
    off = unload is not None and unload.end <= start
    print_step, cool = steps.get("print"), steps.get("cooldown")
    state: JobState = "taken"
    if "preheat" in steps:
        state = "heating"
    if "start" in steps:
        state = "printing"
    if cool is not None:
        state = "cooling"
    if off:
        state = "baking" if baking else ("off" if job.anneal else "to inspect")
    return FloorJob(
        job.id,
        0,
        state,
        printer=progress.printer,
        feeds=progress.feeds,
        mounted=tuple(True for _ in progress.feeds),
        chamber_c=together.setpoint_c(machine, ground.site.ambient_c),
        lengths=lengths,
        pulled_at=steps["changeover"].start,
        heated_at=steps["preheat"].start if "preheat" in steps else None,
        started_at=steps["start"].start if "start" in steps else None,
        ended_at=cool.start if cool is not None and print_step is not None else None,
        unloaded_at=unload.end if off and unload is not None else None,
        assumed=True,
    )
