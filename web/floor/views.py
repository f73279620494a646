"""The floor's pages, and the one address that takes every touch."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from flask import Blueprint, abort, flash, jsonify, redirect, render_template, request
from flask.typing import ResponseReturnValue

from scheduler.floor import Asked, FloorRefused, FloorRun, Ground, Objected, Things, Touched, short_code
from scheduler.floor.commands import CAUSES
from scheduler.matching.stock_checks import row_usable
from scheduler.model import Dryer, DryerRun
from scheduler.store import Event
from scheduler.store.floor import Floor
from web.floor import wishes
from web.floor.desk import Desk, desk_of
from web.floor.labels import qr_path
from web.floor.who import may_override, who
from web.people import may_see_names
from web.services import services

blueprint = Blueprint("floor", __name__, url_prefix="/floor")

#: A touch that waited on a device counts at its own time if it is not older.
OLDEST_TOUCH = timedelta(hours=12)
#: Events that a desk shows.
SHOWN_EVENTS = 12
#: How far ahead a dryer's page looks for what the plan wants in it.
DRYER_AHEAD = timedelta(hours=36)


@dataclass(frozen=True, slots=True)
class Card:
    """A machine on the floor's first page."""

    desk: Desk
    due: bool


@blueprint.get("")
def index() -> ResponseReturnValue:
    """Every machine with what it wants next, dryers and ovens beside them."""
    here = services()
    if here.shop() is None:
        return render_template("floor/no_shop.html")
    now = here.clock()
    with here.desk.looking() as (unit, ground, things):
        touched = here.desk.touched(unit)
        desks = [desk_of(ground, things, machine, now) for machine in ground.scenario.printers]
        runs = _open_runs(touched)
        inspect = _in_states(touched, ("to inspect", "rework"))
        bake = _in_states(touched, ("off",))
        held = _in_states(touched, ("held",))
        state = unit.floor.state()
    cards = sorted((Card(desk, _is_due(desk, now)) for desk in desks), key=lambda card: _urgency(card, now))
    return render_template(
        "floor/index.html",
        cards=cards,
        runs=runs,
        ground=ground,
        inspect=inspect,
        bake=bake,
        held=held,
        floor=state,
        dryers=ground.scenario.dryers,
        ovens=ground.scenario.ovens,
        jobs=ground.jobs,
    )


def _is_due(desk: Desk, now: datetime) -> bool:
    return bool(desk.touch.do) and (desk.touch.at is None or desk.touch.at <= now)


def _urgency(card: Card, now: datetime) -> tuple[int, datetime, str]:
    """What is on a machine and due first, then what can be pulled, then what is to come."""
    desk = card.desk
    at = desk.touch.at or now
    rank = 0 if card.due and desk.job is not None else 1 if card.due else 2 if desk.touch.do else 3
    return rank, at, desk.machine.id


def _open_runs(touched: Touched) -> list[tuple[str, FloorRun]]:
    return [
        (kind, run)
        for kind in ("dryer run", "oven run")
        for run in touched.runs(kind)
        if run.ended_at is None and run.members
    ]


def _in_states(touched: Touched, states: tuple[str, ...]) -> list[str]:
    return sorted(
        id
        for (kind, id), thing in touched.things.items()
        if kind == "job" and getattr(thing, "state", "") in states
    )


@blueprint.get("/machines/<path:id>")
def machine(id: str) -> ResponseReturnValue:
    """One machine's desk."""
    here = services()
    now = here.clock()
    with here.desk.looking() as (unit, ground, things):
        if id not in ground.printers:
            abort(404, f"There is no printer {id}.")
        desk = desk_of(ground, things, ground.printers[id], now)
        history = unit.floor.history("printer", id, SHOWN_EVENTS)
        undoable = _undoable(unit.floor, history)
        orders = {order.id: order for order in unit.orders.list()}
    shown = desk.job
    return render_template(
        "floor/machine.html",
        desk=desk,
        secret=bool(shown and shown.order in orders and orders[shown.order].confidential),
        history=history,
        undoable=undoable,
        causes=CAUSES,
        seen=_seen(desk),
        key=_key(),
        until=now + timedelta(hours=4),
        may_override=may_override(),
        objections=request.args.get("objections", ""),
        anew=request.args.get("anew", ""),
        code=request.args.get("code", ""),
    )


def _undoable(floor: Floor, history: Sequence[Event]) -> Event | None:
    """The newest event of a thing if it can be taken back."""
    for event in history[:1]:
        kept = floor.before(event.number) if event.number is not None else None
        if kept is not None and not kept[1] and event.kind not in ("step undone", "shift handed over"):
            return event
    return None


def _seen(desk: Desk) -> list[str]:
    lines = [f"printer|{desk.machine.id}|{desk.printer.version}"]
    if desk.state is not None:
        lines.append(f"job|{desk.state.id}|{desk.state.version}")
    return lines


def _key() -> str:
    return secrets.token_hex(8)


@blueprint.get("/dryers/<path:id>")
def dryer(id: str) -> ResponseReturnValue:
    """One dryer's desk."""
    here = services()
    now = here.clock()
    with here.desk.looking() as (unit, ground, things):
        if id not in ground.dryers:
            abort(404, f"There is no dryer {id}.")
        machine = ground.dryers[id]
        runs = things.open_runs("dryer run", id)
        history = unit.floor.history("dryer", id, SHOWN_EVENTS)
        undoable = _undoable(unit.floor, history)
        wanted = _wanted(ground, things, machine, now)
        where = {
            spool: things.spool(spool) for run in wanted for spool in run.spools if spool in ground.spools
        }
    return render_template(
        "floor/dryer.html",
        dryer=machine,
        runs=runs,
        wanted=wanted,
        where=where,
        ground=ground,
        history=history,
        undoable=undoable,
        recipes=_recipes(ground, machine),
        code=short_code,
        key=_key,
        now_=now,
    )


def _wanted(ground: Ground, things: Things, dryer: Dryer, now: datetime) -> list[DryerRun]:
    """What the plan wants in a dryer, in its order, unless it is or was in there since."""
    going = {member for run in things.open_runs("dryer run", dryer.id) for member in run.members}

    def dried_since(spool: str, start: datetime) -> bool:
        at = things.spool(spool).dried_at if spool in ground.spools else None
        return at is not None and at >= start

    return [
        run
        for run in sorted(ground.plan.dryer_runs if ground.plan else (), key=lambda each: each.start)
        if run.dryer == dryer.id
        and now < run.end
        and run.start < now + DRYER_AHEAD
        and not set(run.spools) <= going
        and not any(dried_since(spool, run.start) for spool in run.spools)
    ]


def _recipes(ground: Ground, dryer: Dryer) -> list[tuple[str, float, float]]:
    """Material, °C and hours of every recipe that a dryer can run on a body that stands it."""
    return sorted(
        (material.id, row.temp_c, row.hours)
        for material in ground.scenario.materials
        for row in material.drying
        if row_usable(row, dryer, row.temp_c)
    )


@blueprint.get("/ovens/<path:id>")
def oven(id: str) -> ResponseReturnValue:
    """One oven's desk."""
    here = services()
    with here.desk.looking() as (unit, ground, things):
        if id not in ground.ovens:
            abort(404, f"There is no oven {id}.")
        machine = ground.ovens[id]
        runs = things.open_runs("oven run", id)
        history = unit.floor.history("oven", id, SHOWN_EVENTS)
        undoable = _undoable(unit.floor, history)
        waiting = [job for job in _in_states(here.desk.touched(unit), ("off",)) if job in ground.jobs]
    programs: dict[tuple[float, float] | None, list[str]] = {}
    for job in waiting:
        anneal = ground.materials[ground.jobs[job].feeds[0].material].anneal
        programs.setdefault((anneal.temp_c, anneal.hours) if anneal else None, []).append(job)
    return render_template(
        "floor/oven.html", oven=machine, runs=runs, programs=programs, ground=ground,
        history=history, undoable=undoable, key=_key,
    )  # fmt: skip


@blueprint.get("/judge/<path:id>")
def judge(id: str) -> ResponseReturnValue:
    """One job's inspection."""
    here = services()
    with here.desk.looking() as (unit, ground, things):
        if id not in ground.jobs:
            abort(404, f"There is no job {id}.")
        job, state = ground.jobs[id], things.job(id)
        history = unit.floor.history("job", id, SHOWN_EVENTS)
        order = unit.orders.get(job.order)
    part = job.part
    if order is not None and order.confidential and not may_see_names():
        part = "Part under non-disclosure"
    return render_template("floor/judge.html", job=job, part=part, state=state, history=history, key=_key())


@blueprint.get("/spools")
def spools() -> ResponseReturnValue:
    """Weigh, put aside, find wet or empty: what happens to a spool off the machine."""
    here = services()
    with here.desk.looking() as (_, ground, things):
        rows = [(spool, things.spool(spool.id)) for spool in ground.scenario.spools]
    return render_template(
        "floor/spools.html", rows=rows, code=short_code, key=_key, asked=request.args.get("code", "")
    )


@blueprint.get("/spools/labels")
def labels() -> ResponseReturnValue:
    """A sheet of labels to print and stick on."""
    here = services()
    shop = here.shop()
    if shop is None:
        return render_template("floor/no_shop.html")
    asked = request.args.getlist("spool")
    chosen = [spool for spool in shop.scenario.spools if not asked or spool.id in asked]
    drawn = [(spool, short_code(spool.id), *qr_path(short_code(spool.id))) for spool in chosen]
    return render_template("floor/labels.html", drawn=drawn)


@blueprint.get("/handover")
def handover() -> ResponseReturnValue:
    """What ran, failed and waits, and what one shift tells the next."""
    here = services()
    if here.shop() is None:
        return render_template("floor/no_shop.html")
    now = here.clock()
    with here.desk.looking() as (unit, ground, things):
        state = unit.floor.state()
        events = unit.floor.facts(state.opened_event) if state else ()
        desks = [desk_of(ground, things, each, now) for each in ground.scenario.printers]
    notes = [event for event in events if event.kind == "shift handed over"]
    since = notes[-1].at if notes else now - timedelta(hours=12)
    recent = [event for event in events if event.at > since and event.kind != "shift handed over"]
    failed = [event for event in recent if event.kind == "job failed"]
    return render_template(
        "floor/handover.html",
        notes=list(reversed(notes[-6:])),
        since=since,
        recent=recent,
        failed=failed,
        desks=[
            desk
            for desk in desks
            if desk.job is not None or desk.printer.down_reason or desk.printer.to_clear
        ],
        key=_key(),
    )


@blueprint.post("/do")
def do() -> ResponseReturnValue:
    """Take a touch: from a form, or from a device's waiting list as JSON's counterpart."""
    here = services()
    wants_json = request.accept_mimetypes.best == "application/json"
    form = request.form
    back = form.get("back", "/floor")
    if not back.startswith("/") or back.startswith("//"):
        back = "/floor"
    shop = here.shop()
    zone = ZoneInfo(shop.scenario.site.timezone if shop else "UTC")
    try:
        command = wishes.wished(form, zone)
        asked = Asked(
            key=form.get("key", ""),
            who=_who_touched(form.get("touched_by", "")),
            at=_touched_at(form.get("touched_at", ""), here.clock()),
            override=form.get("override", "").strip(),
            may_override=may_override(),
            seen=wishes.seen(form),
        )
        done = here.desk.take(asked, command)
    except FloorRefused as refused:
        kind = "objected" if isinstance(refused, Objected) else "refused"
        if wants_json:
            return jsonify(kind=kind, text=str(refused)), 409
        flash(str(refused), "call")
        return redirect(back)
    here.live.poke()
    words = f"Noted: {done.kind}" if not done.again else "Noted already"
    if done.strayed:
        words += f" – {done.strayed}; the plan is being looked at anew"
    if wants_json:
        return jsonify(kind="again" if done.again else "taken", event=done.event, text=words)
    flash(words + ".", "soon" if done.strayed else "notice")
    return redirect(back)


def _who_touched(touched_by: str) -> str:
    """Who is signed in, and who had touched the device if that was somebody else."""
    name = who()
    if not touched_by or touched_by == name:
        return name
    return f"{name}, for a touch of {touched_by[:80]}"


def _touched_at(text: str, now: datetime) -> datetime:
    """When a device says that it was touched, if that can be so; else now."""
    try:
        found = datetime.fromisoformat(text.replace("Z", "+00:00"))
    except ValueError:
        return now
    if found.tzinfo is None or not now - OLDEST_TOUCH <= found <= now:
        return now
    return found
