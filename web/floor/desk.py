"""What a machine's page tells: what is on it, what to do now, what comes next, what to mind."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.floor import Asked, FloorJob, FloorPrinter, Ground, Things
from scheduler.floor.pull import Advice, what_now
from scheduler.floor.scene import Scene
from scheduler.floor.spool_rules import short_code
from scheduler.model import Job, Printer
from web.jobs.cautions import Caution, cautions

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Touch:
    """The next touch of a machine.

    Parameters
    ----------
    do : str
        The form's step; empty: nothing to do but wait.
    label : str
        The button's words.
    at : datetime or None
        When it is due; ``None``: now.
    waits : str
        What a machine waits for that has nothing to do.
    ahead : str
        What is expected at ``at``, for lists that tell it before it has happened.
    """

    do: str
    label: str
    at: datetime | None
    waits: str = ""
    ahead: str = ""


@dataclass(frozen=True, slots=True)
class Load:
    """A spool to put on, or already on, a head."""

    feed: int
    head: str
    nozzle: str
    nozzle_now: str | None
    spool: str
    code: str
    material: str
    lot: str
    where: str
    on: bool
    grams: float
    needs_g: float


@dataclass(frozen=True)
class Desk:
    """A machine and its now."""

    machine: Printer
    printer: FloorPrinter
    job: Job | None
    state: FloorJob | None
    touch: Touch
    loads: tuple[Load, ...]
    checklist: tuple[str, ...]
    cautions: tuple[Caution, ...]
    advice: Advice | None
    said: str
    since: datetime | None = None


def scene_of(ground: Ground, things: Things, now: datetime) -> Scene:
    """A scene to ask rules without wishing anything."""
    return Scene(ground, things, Asked("look", "", now))


def desk_of(ground: Ground, things: Things, machine: Printer, now: datetime) -> Desk:
    """How a machine stands and what to do there."""
    scene = scene_of(ground, things, now)
    printer = things.printer(machine.id)
    state = things.job(printer.job) if printer.job else None
    job = ground.jobs.get(printer.job) if printer.job else None
    advice = what_now(scene, machine) if printer.job is None and printer.down_reason is None else None
    touch, said, since = _touch(printer, state, advice)
    about = job or (advice.proposed.job if advice and advice.proposed else None)
    return Desk(
        machine,
        printer,
        job,
        state,
        touch,
        _loads(scene, job, state) if job and state else (),
        _checklist(ground, job, state, touch),
        _cautions(ground, about, machine, state),
        advice,
        said,
        since,
    )


def _touch(
    printer: FloorPrinter, state: FloorJob | None, advice: Advice | None
) -> tuple[Touch, str, datetime | None]:
    if printer.to_clear:
        return (
            Touch("cleared", "Plate is cleared", printer.clear_from, ahead="cool enough to be cleared"),
            "To be cleared after a failure",
            None,
        )
    if printer.down_reason is not None and state is None:
        return (
            Touch("up", "It can be used again", printer.down_until, ahead="to be used again"),
            "Out of use",
            printer.down_since,
        )
    if state is None:
        if advice and advice.proposed:
            return Touch("pull", f"Pull {advice.proposed.job.id}", None), "Free", None
        coming = advice.others[0] if advice and advice.others else None
        wait = "Nothing is ready for this machine."
        if coming is not None:
            wait = f"Nothing should go on now. Next is {coming.job.id}: {coming.note}."
        return Touch("", "", None, wait), "Free", None
    lengths = state.lengths
    if state.state == "taken":
        waiting = [at for at, on in enumerate(state.mounted) if not on]
        if waiting:
            return Touch("mount", "Put the spool on", None), "Changeover", state.pulled_at
        return Touch("heat", "Changeover done, heating is on", None), "Changeover", state.pulled_at
    if state.state == "heating" and state.heated_at and lengths:
        ready = state.heated_at + lengths.preheat_min * MINUTE
        return (
            Touch("begin", "Print started, first layer runs", ready, ahead="hot"),
            "Heating",
            state.heated_at,
        )
    if state.state == "printing" and state.started_at and lengths:
        ends = state.started_at + (lengths.start_min + lengths.print_min) * MINUTE
        return Touch("ended", "Print has ended", ends, ahead="print ends"), "Printing", state.started_at
    if state.state == "cooling" and state.ended_at and lengths:
        cool = state.ended_at + lengths.cooldown_min * MINUTE
        return Touch("off", "Part is off, machine is free", cool, ahead="cool"), "Cooling", state.ended_at
    return Touch("", "", None), state.state, None


def _where(scene: Scene, spool_id: str) -> str:
    spool = scene.things.spool(spool_id)
    if spool.place == "store":
        return "in the store"
    return f"in {spool.place_id}" if spool.place == "dryer" else f"on {spool.place_id}"


def _loads(scene: Scene, job: Job, state: FloorJob) -> tuple[Load, ...]:
    heads = {on.head: on for on in scene.things.printer(state.printer or "").heads}
    loads = []
    for at, (feed, choice) in enumerate(zip(job.feeds, state.feeds, strict=True)):
        stock = scene.ground.spools.get(choice.spool)
        now = heads.get(choice.head)
        loads.append(
            Load(
                at,
                choice.head,
                choice.nozzle,
                now.nozzle if now else None,
                choice.spool,
                short_code(choice.spool),
                feed.material,
                stock.lot if stock else "",
                _where(scene, choice.spool) if stock else "gone from the record",
                state.mounted[at],
                scene.things.spool(choice.spool).grams if stock else 0.0,
                feed.grams,
            )
        )
    return tuple(loads)


def _checklist(ground: Ground, job: Job | None, state: FloorJob | None, touch: Touch) -> tuple[str, ...]:
    """What a careful person looks at before the touch."""
    if job is None or state is None:
        return ()
    together = ground.together(job)
    hot = state.chamber_c > ground.site.ambient_c + 1
    if state.state == "taken":
        lines = ["Plate clean, right surface, seated", "Nozzle as named below, tight, no ooze"]
        if any(material.needs_extraction for material in together.materials):
            lines.append("Extraction runs")
        lines.append("Filament pulled by hand: runs free, no crackle")
        return tuple(lines)
    if state.state == "heating":
        lines = [f"Machine's own display: chamber {state.chamber_c:.0f} °C"] if hot else []
        bed = together.bed_c
        if bed is not None:
            lines.append(f"Plate between {bed.lo:g} and {bed.hi:g} °C")
        return (*lines, "Right program, right part on the display", "Stay for the first layer")
    if state.state == "printing":
        return ("Look in: sticks, no strings, no crackle", "Nothing that burns lies near")
    if state.state == "cooling":
        return (
            f"Machine's own display: chamber at or under {together.release_c:g} °C",
            "Gloves and glasses on",
            "Label on the part: job and time",
        )
    return ()


def _cautions(
    ground: Ground, job: Job | None, machine: Printer, state: FloorJob | None
) -> tuple[Caution, ...]:
    if job is None:
        return ()
    materials = [ground.materials[feed.material] for feed in job.feeds]
    planned = ground.planned.get(job.id)
    chamber = state.chamber_c if state else (planned.chamber_c if planned else None)
    return cautions(job, materials, chamber, alone=machine.unattended, vacuum=False)
