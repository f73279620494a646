"""Changes of a shop that may save a job: each a shop of its own, to be tried."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from datetime import timedelta

from scheduler.matching import Matcher
from scheduler.model import Job, Mounted, Nozzle, Plan, PlannedJob, Printer, Scenario, Shift, Spool
from scheduler.planning.explain.machines import machine_table
from scheduler.planning.explain.words import Clockwork

#: How many of one kind are tried at most.
SHIFTS = 3
NOZZLES = 2
RIVALS = 3
#: Length of an overtime tried, minutes.
OVERTIME_MIN = 60
#: Added to an id for a thing that is not in the shop.
EXTRA = "extra"


@dataclass(frozen=True, slots=True)
class Change:
    """Something that the shop could do.

    Attributes
    ----------
    kind : str
        ``promise``, ``overtime``, ``hand``, ``spool``, ``nozzle``, ``dryer`` or ``machine``, in the order of
        what it is thought to cost, the least first; ``none`` for planning again with nothing changed.
    words : str
        As a clause: "one more person Tue 06:00 to 14:00".
    scenario : Scenario
        The shop with it.
    aside : tuple of str
        Jobs that make room.
    """

    kind: str
    words: str
    scenario: Scenario
    aside: tuple[str, ...] = ()


#: The least dear first. An order of magnitude, not a price: a shop knows its own.
DEARNESS = ("none", "promise", "overtime", "hand", "spool", "nozzle", "dryer", "machine")


def changes(scenario: Scenario, plan: Plan, job: Job, matcher: Matcher) -> Iterator[Change]:
    """What may save the job, at most some fifteen changes, each with the shop that it makes."""
    clock = Clockwork(scenario.site)
    planned = next((one for one in plan.jobs if one.job == job.id), None)
    yield from _promises(scenario, plan, planned)
    shifts = _shifts(scenario, planned)
    yield from (_overtime(scenario, shift, clock) for shift in shifts if _open_after(scenario, shift))
    yield from (_hand(scenario, shift, clock) for shift in shifts)
    yield from _spools(scenario, job, planned)
    yield from _nozzles(scenario, job, matcher)
    yield from _dryers(scenario, plan, job, planned)
    yield from _machines(scenario, job, planned, matcher)


def _promises(scenario: Scenario, plan: Plan, planned: PlannedJob | None) -> Iterator[Change]:
    """Jobs that come before on the printer, the last first."""
    if planned is None:
        return
    jobs = {job.id: job for job in scenario.jobs}
    start = planned.steps[0].start
    ahead = [
        one
        for one in plan.jobs
        if one.printer == planned.printer and one.steps[0].start < start and one.job in jobs
    ]
    ahead.sort(key=lambda one: one.steps[0].start, reverse=True)
    movable = [one.job for one in ahead if jobs[one.job].progress is None and jobs[one.job].pinned is None]
    for id in movable[:RIVALS]:
        if jobs[id].same_lot_as == planned.job:
            continue
        due = jobs[id].due
        words = f"{id} after it" if due is None else f"{id} after it, with a later promise"
        yield Change("promise", words, scenario, (id,))


def _shifts(scenario: Scenario, planned: PlannedJob | None) -> list[Shift]:
    """The last shifts to come that begin before the job's first layer."""
    now = scenario.site.plan_start
    until = planned.steps[2].end if planned is not None else max(shift.end for shift in scenario.shifts)
    there = [shift for shift in scenario.shifts if shift.end > now and shift.start < until]
    there.sort(key=lambda shift: (shift.start, shift.end))
    kept: dict[object, Shift] = {}
    for shift in there:
        kept.setdefault((shift.start, shift.end), shift)
    return list(kept.values())[-SHIFTS:]


def _open_after(scenario: Scenario, shift: Shift) -> bool:
    """True if nobody is there right after the shift."""
    return not any(other.start <= shift.end < other.end for other in scenario.shifts)


def _overtime(scenario: Scenario, shift: Shift, clock: Clockwork) -> Change:
    end = shift.end + timedelta(minutes=OVERTIME_MIN)
    minute = scenario.site.minute
    words = f"one person an hour longer, {clock.when(minute(shift.end))} to {clock.time(minute(end))}"
    return Change("overtime", words, replace(scenario, shifts=(*scenario.shifts, Shift(shift.end, end, 1))))


def _hand(scenario: Scenario, shift: Shift, clock: Clockwork) -> Change:
    minute = scenario.site.minute
    words = f"one more person {clock.when(minute(shift.start))} to {clock.time(minute(shift.end))}"
    extra = Shift(shift.start, shift.end, 1)
    return Change("hand", words, replace(scenario, shifts=(*scenario.shifts, extra)))


def _spools(scenario: Scenario, job: Job, planned: PlannedJob | None) -> Iterator[Change]:
    """A second spool of each feed's material, dry now."""
    by_id = {spool.id: spool for spool in scenario.spools}
    for at, feed in enumerate(job.feeds):
        like = by_id.get(planned.feeds[at].spool) if planned is not None else None
        if like is None:
            like = next((spool for spool in scenario.spools if spool.material == feed.material), None)
        if like is None:
            continue
        certs = tuple(sorted({*like.certs, *feed.certs}))
        extra = Spool(
            id=free_id(f"{feed.material}-{EXTRA}", by_id),
            material=feed.material,
            lot=like.lot,
            grams=max(feed.grams, like.grams),
            body_max_c=like.body_max_c,
            certs=certs,
            available_from=scenario.site.plan_start,
            dried=True,
            exposed_min=0,
            drying=None,
        )
        words = f"a second spool of {feed.material}, lot {like.lot}, dried and at hand now"
        yield Change("spool", words, replace(scenario, spools=(*scenario.spools, extra)))


def _nozzles(scenario: Scenario, job: Job, matcher: Matcher) -> Iterator[Change]:
    """Printers that lack nothing but a nozzle."""
    rows = machine_table(scenario, matcher, job.id)
    lacking = [row.printer for row in rows if row.failures and {r.check for r in row.failures} == {"nozzle"}]
    materials = {material.id: material for material in scenario.materials}
    first = materials[job.feeds[0].material]
    size = min((mm for mm in job.feeds[0].nozzle_mm if mm >= first.min_nozzle_mm), default=None)
    if size is None:
        return
    used = [materials[feed.material] for feed in job.feeds]
    for id in lacking[:NOZZLES]:
        printer = next(one for one in scenario.printers if one.id == id)
        heads = tuple(
            replace(
                head,
                nozzles=(
                    *head.nozzles,
                    Nozzle(
                        free_id(EXTRA, {nozzle.id: nozzle for nozzle in head.nozzles}),
                        size,
                        any(one.abrasive for one in used),
                        any(one.corrosive for one in used),
                        head.max_c,
                    ),
                ),
            )
            for head in printer.heads
        )
        kind = " hardened" if any(one.abrasive for one in used) else ""
        words = f"a{kind} nozzle of {size:g} mm for {id}"
        yield Change("nozzle", words, with_printer(scenario, replace(printer, heads=heads)))


def _dryers(scenario: Scenario, plan: Plan, job: Job, planned: PlannedJob | None) -> Iterator[Change]:
    """A dryer like the one that dries for it, or the first where none does."""
    materials = {material.id: material for material in scenario.materials}
    if not any(materials[feed.material].drying for feed in job.feeds) or not scenario.dryers:
        return
    spools = {choice.spool for choice in planned.feeds} if planned is not None else set()
    used = [run.dryer for run in plan.dryer_runs if spools.intersection(run.spools)]
    like = next((one for one in scenario.dryers if one.id in used), scenario.dryers[0])
    known = {one.id for one in scenario.dryers} | {one.id for one in scenario.ovens}
    extra = replace(like, id=free_id(f"{like.id}-{EXTRA}", known), downtime=())
    yield Change(
        "dryer", f"one more dryer like {like.id}", replace(scenario, dryers=(*scenario.dryers, extra))
    )


def _machines(scenario: Scenario, job: Job, planned: PlannedJob | None, matcher: Matcher) -> Iterator[Change]:
    by_id = {one.id: one for one in scenario.printers}
    like = by_id.get(planned.printer) if planned is not None else None
    if like is None:
        rows = machine_table(scenario, matcher, job.id)
        like = by_id[rows[0].printer] if rows and rows[0].fits else None
    if like is not None:
        extra = empty_twin(scenario, like)
        words = f"one more machine like {like.id}"
        yield Change("machine", words, replace(scenario, printers=(*scenario.printers, extra)))


def empty_twin(scenario: Scenario, like: Printer) -> Printer:
    """A printer like another, cold, empty and free now."""
    heads = tuple(replace(head, mounted=Mounted(None, None, None)) for head in like.heads)
    known = {one.id: one for one in scenario.printers}
    return replace(
        like,
        id=free_id(f"{like.id}-{EXTRA}", known),
        heads=heads,
        chamber_now_c=scenario.site.ambient_c,
        free_at=scenario.site.plan_start,
        downtime=(),
    )


def with_printer(scenario: Scenario, printer: Printer) -> Scenario:
    """The shop with a printer in place of that of its id."""
    return replace(
        scenario,
        printers=tuple(printer if one.id == printer.id else one for one in scenario.printers),
    )


def free_id(wish: str, known: Collection[str]) -> str:
    """The wish, or the wish and a number, whichever is not known yet."""
    if wish not in known:
        return wish
    return next(f"{wish}-{n}" for n in range(2, len(known) + 3) if f"{wish}-{n}" not in known)
