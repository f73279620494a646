"""Rules of a job's life on a machine: pull, mount, heat, first layer, end, off; and failure."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from scheduler.floor.choosing import choices, misfits
from scheduler.floor.commands import (
    ChamberOn,
    ClearPlate,
    Fail,
    FirstLayer,
    LetGo,
    MountSpool,
    PrintEnded,
    Pull,
    TakeOff,
)
from scheduler.floor.facts import Fact
from scheduler.floor.refusals import FloorRefused, Outdated, Taken
from scheduler.floor.scene import Scene
from scheduler.floor.spool_rules import by_code, hard_reasons, soft_reasons
from scheduler.floor.things import ENDED, ON_MACHINE, FloorJob, to_data
from scheduler.model import Job, Printer
from scheduler.physics import cooldown_c, preheat_minutes

#: A first layer this much before the forecast end of heating and soak is still in order, minutes.
EARLY_MIN = 2
#: A part this much before its forecast release is still in order, minutes.
WARM_MIN = 2


def pull(scene: Scene, command: Pull) -> Fact:
    """Somebody takes a job to a machine."""
    job, state = scene.job(command.job)
    machine, printer = scene.printer(command.printer)
    if state.state in ON_MACHINE:
        raise Taken(f"{state.holder or 'Somebody'} has {job.id} on {state.printer} already")
    scene.must(state.state == "waiting", f"{job.id} can't be pulled: it is {said(state)}")
    if printer.job is not None:
        holder = scene.things.job(printer.job).holder
        raise Taken(f"{machine.id} has {printer.job} on it, pulled by {holder or 'nobody known'}")
    scene.must(printer.down_reason is None, f"{machine.id} is out of use: {printer.down_reason}")
    wrong = misfits(scene, job, machine)
    scene.must(not wrong, f"{machine.id} can't print {job.id}: " + "; ".join(wrong))
    feeds = command.feeds or choices(scene, job, machine)
    if feeds is None:
        raise FloorRefused(
            f"no spool of {', '.join(feed.material for feed in job.feeds)} can be had for {job.id}"
        )
    scene.must(len(feeds) == len(job.feeds), f"{job.id} has {len(job.feeds)} feeds, not {len(feeds)}")
    for choice in feeds:
        head = next((each for each in machine.heads if each.id == choice.head), None)
        fits = head is not None and any(nozzle.id == choice.nozzle for nozzle in head.nozzles)
        scene.must(fits, f"{machine.id} has no head {choice.head} with nozzle {choice.nozzle}")
        scene.must(choice.spool in scene.ground.spools, f"there is no spool {choice.spool}")
    lengths = scene.ground.lengths(job, printer, feeds, scene.now)
    objections = night_objections(scene, job, machine, scene.now, _busy_min(lengths))
    if job.release > scene.asked.at:
        objections.append(f"{job.id} is not to begin before {scene.clock(job.release)}")
    passed = scene.weigh_up(objections)
    planned = scene.ground.planned.get(job.id)
    return scene.fact(
        "job pulled",
        ("job", job.id),
        [("printer", machine.id), *(("spool", choice.spool) for choice in feeds)],
        job=job.id,
        printer=machine.id,
        feeds=[to_data(choice) for choice in feeds],
        chamber_c=scene.ground.together(job).setpoint_c(machine, scene.ground.site.ambient_c),
        lengths=to_data(lengths),
        planned=None
        if planned is None
        else {"printer": planned.printer, "start": planned.steps[0].start.isoformat()},
        plan=scene.ground.plan_number,
        overrides=list(passed),
    )


def _busy_min(lengths: Any) -> tuple[int, int]:
    """Minutes from a pull to the start of heat, and from there to the cool-down's end."""
    hot = lengths.preheat_min + lengths.start_min + lengths.print_min + lengths.cooldown_min
    return lengths.changeover_min, hot


def night_objections(
    scene: Scene, job: Job, machine: Printer, now: datetime, busy: tuple[int, int]
) -> list[str]:
    """That a machine which must not run alone would, from heat to the end of the cool-down."""
    if machine.unattended:
        return []
    begins = now + timedelta(minutes=busy[0])
    ends = begins + timedelta(minutes=busy[1])
    at = begins
    for shift in sorted(scene.ground.scenario.shifts, key=lambda each: each.start):
        if shift.hands > 0 and shift.start <= at < shift.end:
            at = shift.end
    if at >= ends:
        return []
    return [
        f"{machine.id} must not run alone: {job.id} would be hot until {scene.clock(ends)},"
        f" people are there until {scene.clock(at)}"
    ]


def said(job: FloorJob) -> str:
    """A job's state for a sentence."""
    where = f" on {job.printer}" if job.state in ON_MACHINE else ""
    why = f" ({job.cause})" if job.cause and job.state in ("held", "failed", "rework") else ""
    return (
        {"held": "on hold", "off": "off the machine", "baking": "in the oven"}.get(job.state, job.state)
        + where
        + why
    )


def _standing(scene: Scene, id: str, states: Iterable[str], wish: str) -> tuple[Job, FloorJob, Printer]:
    job, state = scene.job(id)
    if state.state not in states:
        raise Outdated(f"{id} can't {wish}: it is {said(state)}")
    assert state.printer is not None
    if state.printer not in scene.ground.printers:
        raise FloorRefused(f"{id} stands on {state.printer}, which is no longer in the record")
    return job, state, scene.ground.printers[state.printer]


def _at(state: FloorJob) -> list[tuple[str, str]]:
    assert state.printer is not None
    return [("printer", state.printer), *(("spool", choice.spool) for choice in state.feeds)]


def let_go(scene: Scene, command: LetGo) -> Fact:
    """A pulled job goes back."""
    job, state, _ = _standing(scene, command.job, ("taken",), "be let go")
    scene.must(
        not any(state.mounted),
        f"a spool of {job.id} is mounted already; take the last step back first, or report a failure",
    )
    return scene.fact("job let go", ("job", job.id), _at(state), job=job.id)


def mount(scene: Scene, command: MountSpool) -> Fact:
    """A spool, scanned or typed, goes on a feed's head."""
    job, state, machine = _standing(scene, command.job, ("taken",), "get a spool")
    scene.must(0 <= command.feed < len(state.feeds), f"{job.id} has no feed {command.feed + 1}")
    spool = scene.spool(by_code(command.spool, scene.ground.spools))
    choice = state.feeds[command.feed]
    for other, theirs in enumerate(state.feeds):
        taken = other != command.feed and theirs.spool == spool.id
        scene.must(not taken, f"spool {spool.id} serves the other feed of {job.id}")
    hard = hard_reasons(scene, job, command.feed, spool, machine.id)
    scene.must(not hard, "; ".join(hard))
    assert state.lengths is not None
    to_end = state.lengths.preheat_min + state.lengths.start_min + state.lengths.print_min
    passed = scene.weigh_up(soft_reasons(scene, job, command.feed, spool, machine, choice.head, to_end))
    stock = scene.ground.spools[spool.id]
    touches = [*_at(state), ("spool", spool.id)]
    before = next((on.spool for on in scene.things.printer(machine.id).heads if on.head == choice.head), None)
    moved = [spool.id, *([before] if before and before in scene.ground.spools else [])]
    return scene.fact(
        "spool mounted",
        ("job", job.id),
        touches,
        job=job.id,
        printer=machine.id,
        feed=command.feed,
        head=choice.head,
        nozzle=choice.nozzle,
        spool=spool.id,
        asked_spool=choice.spool,
        material=stock.material,
        lot=stock.lot,
        certs=list(stock.certs),
        dryer_run=spool.dryer_run,
        dried_at=spool.dried_at.isoformat() if spool.dried_at else None,
        exposed_min=scene.exposed_min(spool),
        aired=scene.aired(moved),
        overrides=list(passed),
    )


def chamber_on(scene: Scene, command: ChamberOn) -> Fact:
    """The changeover is done and the machine heats."""
    job, state, machine = _standing(scene, command.job, ("taken",), "be heated")
    for feed, on in enumerate(state.mounted):
        scene.must(on, f"the spool of feed {feed + 1} of {job.id} is not confirmed yet")
    printer = scene.things.printer(machine.id)
    together = scene.ground.together(job)
    preheat = preheat_minutes(
        scene.ground.chamber_c(printer, scene.now),
        state.chamber_c,
        together.heating_window.hi,
        together.soak_min,
        machine,
        scene.ground.site.ambient_c,
    )
    return scene.fact("chamber on", ("job", job.id), _at(state), job=job.id, preheat_min=preheat)


def first_layer(scene: Scene, command: FirstLayer) -> Fact:
    """The print begins."""
    job, state, machine = _standing(scene, command.job, ("heating",), "begin")
    assert state.heated_at is not None and state.lengths is not None
    ready = state.heated_at + timedelta(minutes=state.lengths.preheat_min)
    early = (ready - scene.now) // timedelta(minutes=1)
    objections = []
    if early > EARLY_MIN:
        objections.append(
            f"chamber, plate and soak need until {scene.clock(ready)}, {early} min more;"
            " a part begun cold warps"
        )
    for choice in state.feeds:
        spool = scene.things.spool(choice.spool)
        feed = state.feeds.index(choice)
        to_end = state.lengths.start_min + state.lengths.print_min
        objections += [
            text
            for text in soft_reasons(scene, job, feed, spool, machine, choice.head, to_end)
            if not any(known.startswith(text[:40]) for known in state.overrides)
        ]
    return scene.fact(
        "first layer begun",
        ("job", job.id),
        _at(state),
        job=job.id,
        overrides=list(scene.weigh_up(objections)),
    )


def print_ended(scene: Scene, command: PrintEnded) -> Fact:
    """The print has ended; the part cools."""
    job, state, _ = _standing(scene, command.job, ("printing",), "end")
    assert state.started_at is not None and state.lengths is not None
    ended = (command.ended_at or scene.asked.at).replace(second=0, microsecond=0)
    scene.must(ended <= scene.now, f"a print can't have ended at {scene.clock(ended)}: that is still to come")
    earliest = state.started_at + timedelta(minutes=state.lengths.start_min)
    if ended < earliest and command.ended_at is None:
        raise FloorRefused(
            f"the first layer of {job.id} began at {scene.clock(state.started_at)};"
            " if it went wrong, report a failure"
        )
    scene.must(
        ended >= state.started_at,
        f"{job.id} began at {scene.clock(state.started_at)}; it can't have ended at {scene.clock(ended)}",
    )
    return scene.fact(
        "print ended",
        ("job", job.id),
        _at(state),
        job=job.id,
        ended_at=ended.isoformat(),
        drawn_g={choice.spool: feed.grams for feed, choice in zip(job.feeds, state.feeds, strict=True)},
        aired=scene.aired(choice.spool for choice in state.feeds),
    )


def take_off(scene: Scene, command: TakeOff) -> Fact:
    """The part comes off the plate."""
    job, state, machine = _standing(scene, command.job, ("cooling",), "be taken off")
    assert state.ended_at is not None and state.lengths is not None
    cool = state.ended_at + timedelta(minutes=state.lengths.cooldown_min)
    early = (cool - scene.now) // timedelta(minutes=1)
    release = scene.ground.together(job).release_c
    objections = []
    if early > WARM_MIN:
        objections.append(
            f"the chamber is at or under {release:g} °C at {scene.clock(cool)}, in {early} min;"
            " opened hotter, the part warps and hands are burnt"
        )
    passed = scene.weigh_up(objections)
    end = min(cool, scene.now)
    return scene.fact(
        "part taken off",
        ("job", job.id),
        _at(state),
        job=job.id,
        printer=machine.id,
        material=job.feeds[0].material,
        estimated_min=state.lengths.print_min,
        actual_min=_printed_min(state),
        anneal=job.anneal,
        chamber_c=_cooled(scene, job, state, machine, end),
        chamber_at=end.isoformat(),
        aired=scene.aired(choice.spool for choice in state.feeds),
        overrides=list(passed),
    )


def _printed_min(state: FloorJob) -> int:
    """Minutes of a print as reported, without the watched first layer."""
    assert state.started_at is not None and state.ended_at is not None and state.lengths is not None
    begun = state.started_at + timedelta(minutes=state.lengths.start_min)
    return max(0, (state.ended_at - begun) // timedelta(minutes=1))


def _cooled(scene: Scene, job: Job, state: FloorJob, machine: Printer, at: datetime) -> float:
    """Chamber temperature so long after a print's end, °C."""
    if machine.chamber_max_c is None or state.ended_at is None:
        return scene.ground.site.ambient_c
    minutes = max(0, (at - state.ended_at) // timedelta(minutes=1))
    cap = scene.ground.together(job).max_cool_c_per_min
    return round(
        cooldown_c(state.chamber_c, minutes, cap, machine.cool_tau_min, scene.ground.site.ambient_c), 6
    )


def fail(scene: Scene, command: Fail) -> Fact:
    """A job can't be brought to its end: on its machine, in the oven, or waiting for either."""
    job, state = scene.job(command.job)
    if state.state in (*ENDED, "waiting", "held"):
        raise Outdated(f"{job.id} can't fail: it is {said(state)}")
    scene.must(bool(command.cause.strip()), "a failure needs its cause")
    scene.must(
        0 <= command.good < job.quantity,
        f"{command.good} good of {job.quantity} is no failure; saved parts are 0 to {job.quantity - 1}",
    )
    on_machine = state.state in ON_MACHINE
    missing = job.quantity - command.good
    data: dict[str, Any] = {
        "job": job.id,
        "cause": command.cause.strip(),
        "good": command.good,
        "scrapped": missing,
        "missing": missing if command.again else 0,
        "replaced_by": again_id(scene, job.id) if command.again else None,
        "on_machine": on_machine,
        "oven_run": state.oven_run if state.state == "baking" else None,
        "was": state.state,
    }
    touches: list[tuple[str, str]] = []
    if on_machine:
        machine = scene.ground.printers.get(state.printer or "")
        scene.must(
            machine is not None, f"{job.id} stands on {state.printer}, which is no longer in the record"
        )
        assert machine is not None
        touches = _at(state)
        data |= _left_hot(scene, job, state, machine)
    if data["oven_run"]:
        touches.append(("oven run", data["oven_run"]))
    return scene.fact("job failed", ("job", job.id), touches, **data)


def _left_hot(scene: Scene, job: Job, state: FloorJob, machine: Printer) -> dict[str, Any]:
    """How a failure leaves machine and spools."""
    assert state.lengths is not None
    now, gone_min = scene.now, 0.0
    chamber, clear_from, drawn = scene.ground.chamber_c(scene.things.printer(machine.id), now), now, {}
    if state.state in ("heating", "printing"):
        chamber = state.chamber_c
        clear_from = now + timedelta(minutes=state.lengths.cooldown_min)
    elif state.state == "cooling" and state.ended_at is not None:
        chamber = _cooled(scene, job, state, machine, now)
        clear_from = max(now, state.ended_at + timedelta(minutes=state.lengths.cooldown_min))
    if state.state == "printing" and state.started_at is not None:
        begun = state.started_at + timedelta(minutes=state.lengths.start_min)
        gone_min = (now - begun) / timedelta(minutes=1)
        share = min(1.0, max(0.02, gone_min / max(1, state.lengths.print_min)))
        drawn = {
            choice.spool: math.ceil(feed.grams * share * 10) / 10
            for feed, choice in zip(job.feeds, state.feeds, strict=True)
        }
    return {
        "printer": machine.id,
        "material": job.feeds[0].material,
        "estimated_min": state.lengths.print_min,
        "actual_min": max(0, round(gone_min)),
        "chamber_c": chamber,
        "clear_from": clear_from.isoformat(),
        "drawn_g": drawn,
        "aired": scene.aired(choice.spool for choice in state.feeds),
    }


def again_id(scene: Scene, id: str) -> str:
    """An id for a job that prints again what another one still owes: the id with a number behind a dot."""
    stem, dot, number = id.rpartition(".")
    stem, count = (stem, int(number)) if dot and number.isdigit() else (id, 1)
    while f"{stem}.{count + 1}" in scene.ground.jobs:
        count += 1
    return f"{stem}.{count + 1}"


def printed_again(job: Job, id: str, missing: int, now: datetime) -> Job:
    """The job that prints the missing parts of another; minutes and grams by the share of parts."""
    share = missing / job.quantity
    return replace(
        job,
        id=id,
        quantity=missing,
        print_min=math.ceil(job.print_min * share - 1e-9),
        release=now,
        pinned=None,
        progress=None,
        feeds=tuple(
            replace(feed, grams=math.ceil(feed.grams * share * 10 - 1e-9) / 10) for feed in job.feeds
        ),
    )


def clear_plate(scene: Scene, command: ClearPlate) -> Fact:
    """The remains of a failure are off the machine."""
    machine, printer = scene.printer(command.printer)
    if not printer.to_clear or printer.job is None:
        raise Outdated(f"{machine.id} has nothing on it to clear")
    state = scene.things.job(printer.job)
    objections = []
    if printer.clear_from is not None and (printer.clear_from - scene.now) > timedelta(minutes=WARM_MIN):
        objections.append(f"{machine.id} is hot until about {scene.clock(printer.clear_from)}")
    passed = scene.weigh_up(objections)
    return scene.fact(
        "plate cleared",
        ("printer", machine.id),
        [("job", printer.job), *(("spool", choice.spool) for choice in state.feeds)],
        printer=machine.id,
        job=printer.job,
        aired=scene.aired(choice.spool for choice in state.feeds),
        overrides=list(passed),
    )
