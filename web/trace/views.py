"""Record sheets: what was recorded of a job, of a lot, of a spool."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from flask import Blueprint, abort, render_template
from flask.typing import ResponseReturnValue

from scheduler.floor import FloorJob, FloorRun
from scheduler.store import Event, Unit
from web.services import services

blueprint = Blueprint("trace", __name__, url_prefix="/trace")

#: Events that a sheet reads at most.
MOST_EVENTS = 2000


@dataclass(frozen=True, slots=True)
class Fed:
    """A spool that went on a head for a job."""

    at: datetime
    who: str
    data: dict[str, Any]
    run: FloorRun | None


@dataclass(frozen=True, slots=True)
class StepTaken:
    """A step as planned when it was pulled, and as reported; either may be unknown."""

    name: str
    planned: tuple[datetime, datetime] | None
    start: datetime | None
    end: datetime | None


@blueprint.get("/jobs/<path:id>")
def job(id: str) -> ResponseReturnValue:
    """A job's record sheet."""
    here = services()
    with here.desk.looking() as (unit, ground, things):
        if id not in ground.jobs:
            abort(404, f"There is no job {id}.")
        asked = ground.jobs[id]
        state = things.job(id)
        events = tuple(reversed(unit.floor.history("job", id, MOST_EVENTS)))
        fed = _fed(unit, events)
        oven = unit.floor.read("oven run", state.oven_run) if state.oven_run else None
        order = unit.orders.get(asked.order)
        planned = ground.planned.get(id)
        steps = _steps(
            state, {step.kind: (step.start, step.end) for step in planned.steps} if planned else {}
        )
    taken_back = {event.data.get("of") for event in events if event.kind == "step undone"}
    return render_template(
        "trace/job.html",
        job=asked,
        order=order,
        state=state,
        events=events,
        fed=[each for each in fed if each.data["number"] not in taken_back],
        oven=oven,
        steps=steps,
        people=sorted({event.who for event in events}),
        taken_back=taken_back,
    )


def _fed(unit: Unit, events: tuple[Event, ...]) -> list[Fed]:
    found = []
    for event in events:
        if event.kind != "spool mounted":
            continue
        run_id = event.data.get("dryer_run")
        run = unit.floor.read("dryer run", run_id) if run_id else None
        found.append(
            Fed(
                event.at,
                event.who,
                {**event.data, "number": event.number},
                run if isinstance(run, FloorRun) else None,
            )
        )
    return found


def _steps(state: FloorJob, planned: dict[str, tuple[datetime, datetime]]) -> list[StepTaken]:
    watched = None
    if state.started_at is not None and state.lengths is not None:
        watched = state.started_at + timedelta(minutes=state.lengths.start_min)
        watched = min(watched, state.ended_at) if state.ended_at else watched
    taken = (
        ("Changeover", "changeover", state.pulled_at, state.heated_at),
        ("Preheat", "preheat", state.heated_at, state.started_at),
        ("First layer", "start", state.started_at, watched),
        ("Print", "print", watched, state.ended_at),
        ("Cool-down and unload", "cooldown", state.ended_at, state.unloaded_at),
    )
    return [StepTaken(name, planned.get(kind), start, end) for name, kind, start, end in taken]


@blueprint.get("/lots/<path:lot>")
def lot(lot: str) -> ResponseReturnValue:
    """From a lot to every spool and every job that was fed from it."""
    here = services()
    with here.desk.looking() as (unit, ground, things):
        spools = [spool for spool in ground.scenario.spools if spool.lot == lot]
        if not spools:
            abort(404, f"No spool of lot {lot} is on record.")
        used = _used(unit, [spool.id for spool in spools])
        rows = [
            (event, ground.jobs.get(event.data["job"]), things.job(event.data["job"]))
            for event in used
            if event.data["job"] in ground.jobs
        ]
    return render_template("trace/lot.html", lot=lot, spools=spools, rows=rows, title=f"Lot {lot}")


@blueprint.get("/spools/<path:id>")
def spool(id: str) -> ResponseReturnValue:
    """Everything that happened to a spool."""
    here = services()
    with here.desk.looking() as (unit, ground, things):
        if id not in ground.spools:
            abort(404, f"There is no spool {id}.")
        events = unit.floor.history("spool", id, MOST_EVENTS)
        state = things.spool(id)
    return render_template("trace/spool.html", spool=ground.spools[id], state=state, events=events)


def _used(unit: Unit, spools: list[str]) -> list[Event]:
    """The mounts of spools, in their order, without those that were taken back."""
    mounts: dict[int, Event] = {}
    undone: set[int] = set()
    for id in spools:
        for event in unit.floor.history("spool", id, MOST_EVENTS):
            if event.kind == "step undone":
                undone.add(event.data["of"])
            elif event.kind == "spool mounted" and event.data["spool"] == id and event.number is not None:
                mounts[event.number] = event
    return [mounts[number] for number in sorted(mounts) if number not in undone]
