"""What the job page tells, put together from the shop and its plan."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import datetime

from scheduler.model import DryerRun, Feed, Job, OvenRun, PlannedJob, Reason, Spool
from scheduler.planning.explain.hands import Hands
from scheduler.planning.explain.machines import machine_table
from web.explaining import matcher
from web.jobs.drawing import Lane, Stroke
from web.shop import Shop
from web.times import lasts, time_only, when

STEP_WORDS = {
    "changeover": ("Changeover", "C"),
    "preheat": ("Preheat", "H"),
    "start": ("Start", "S"),
    "print": ("Print", "P"),
    "cooldown": ("Cool-down", "D"),
    "unload": ("Unload", "U"),
}
#: Machines that are told one by one; in larger fleets those that are alike share a row.
TOLD_ONE_BY_ONE = 40
#: Rows of the machine table at the most: the nearest ones.
MOST_ROWS = 60


@dataclass(frozen=True, slots=True)
class StepRow:
    """A line of the table of steps."""

    name: str
    machine: str
    machine_href: str | None
    start: datetime
    end: datetime
    by_hand: bool
    note: str = ""

    @property
    def minutes(self) -> int:
        return int((self.end - self.start).total_seconds() // 60)


@dataclass(frozen=True, slots=True)
class FeedRow:
    """A feed with the spool that the plan gives it and the run that dries it."""

    feed: Feed
    spool: Spool | None
    spool_id: str | None
    head: str | None
    nozzle: str | None
    run: DryerRun | None


@dataclass(frozen=True, slots=True)
class MachineLine:
    """Machines with the same answer to a job; ``more`` counts those like the named one."""

    printer: str
    more: int
    failures: tuple[Reason, ...]


def last_run(shop: Shop, spool_id: str, before: datetime) -> DryerRun | None:
    """The last drying run of a spool that ends by an instant; ``None`` if none does."""
    runs = shop.plan.dryer_runs if shop.plan else ()
    fit = [run for run in runs if spool_id in run.spools and run.end <= before]
    return max(fit, key=lambda run: run.end, default=None)


def oven_run(shop: Shop, planned: PlannedJob | None) -> OvenRun | None:
    """The oven run of a placed job; ``None`` if it has none."""
    if shop.plan is None or planned is None or planned.oven_run is None:
        return None
    return next((run for run in shop.plan.oven_runs if run.id == planned.oven_run), None)


def feed_rows(shop: Shop, job: Job, planned: PlannedJob | None) -> tuple[FeedRow, ...]:
    """A row for each feed."""
    if planned is None:
        return tuple(FeedRow(feed, None, None, None, None, None) for feed in job.feeds)
    return tuple(
        FeedRow(
            feed,
            shop.spools.get(choice.spool),
            choice.spool,
            choice.head,
            choice.nozzle,
            last_run(shop, choice.spool, planned.steps[0].start),
        )
        for feed, choice in zip(job.feeds, planned.feeds, strict=False)
    )


def step_rows(shop: Shop, job: Job, planned: PlannedJob) -> tuple[StepRow, ...]:
    """Drying, the six printer steps, annealing and finishing work, in order of time."""
    rows = []
    told: set[str] = set()
    for feed in feed_rows(shop, job, planned):
        if feed.run is not None and feed.run.id not in told:
            told.add(feed.run.id)
            load = f"spool {feed.spool_id} at {feed.run.setpoint_c:g} °C"
            href = f"/fleet/dryers/{feed.run.dryer}"
            rows.append(StepRow("Drying", feed.run.dryer, href, feed.run.start, feed.run.end, False, load))
    place = f"/fleet/printers/{planned.printer}"
    for step in planned.steps:
        note = f"chamber at {planned.chamber_c:g} °C" if step.kind == "preheat" else ""
        by_hand = step.kind in ("changeover", "start", "unload")
        name = STEP_WORDS[step.kind][0]
        rows.append(StepRow(name, planned.printer, place, step.start, step.end, by_hand, note))
    ended = planned.steps[-1].end
    run = oven_run(shop, planned)
    if run is not None:
        beside = [other for other in run.jobs if other != job.id]
        note = f"{run.temp_c:g} °C" + (f", beside {', '.join(beside)}" if beside else "")
        rows.append(
            StepRow("Annealing", run.oven, f"/fleet/ovens/{run.oven}", run.start, run.end, False, note)
        )
        ended = run.end
    if planned.done > ended:
        rows.append(StepRow("Finishing work", "bench", None, ended, planned.done, True))
    return tuple(rows)


def lanes(shop: Shop, job: Job, planned: PlannedJob) -> tuple[Lane, ...]:
    """Dryers, printer and oven of a job as rows of its drawing."""
    found = []
    dried: defaultdict[str, list[DryerRun]] = defaultdict(list)
    for feed in feed_rows(shop, job, planned):
        if feed.run is not None and feed.run not in dried[feed.run.dryer]:
            dried[feed.run.dryer].append(feed.run)
    for dryer, runs in dried.items():
        strokes = tuple(
            _stroke("dry", "Y", f"Drying at {run.setpoint_c:g} °C", run.start, run.end) for run in runs
        )
        found.append(Lane(dryer, strokes))
    steps = tuple(
        _stroke(step.kind, STEP_WORDS[step.kind][1], STEP_WORDS[step.kind][0], step.start, step.end)
        for step in planned.steps
    )
    found.append(Lane(planned.printer, steps))
    run = oven_run(shop, planned)
    if run is not None:
        stroke = _stroke("anneal", "A", f"Annealing at {run.temp_c:g} °C", run.start, run.end)
        found.append(Lane(run.oven, (stroke,)))
    return tuple(found)


def _stroke(kind: str, letter: str, words: str, start: datetime, end: datetime) -> Stroke:
    minutes = (end - start).total_seconds() / 60
    title = f"{words}: {when(start)} to {time_only(end)}, {lasts(minutes)}"
    return Stroke(kind, letter, start, end, title)


def machine_lines(shop: Shop, job_id: str) -> tuple[tuple[MachineLine, ...], int]:
    """The machine table, nearest first, and how many rows are left out."""
    asked = matcher(shop)
    rows = machine_table(shop.scenario, asked, job_id)
    lines: list[MachineLine] = []
    if len(rows) <= TOLD_ONE_BY_ONE:
        lines = [MachineLine(row.printer, 0, row.failures) for row in rows]
    else:
        place: dict[int, int] = {}
        for row in rows:
            kind = asked.printer_class(row.printer)
            if kind in place:
                line = lines[place[kind]]
                lines[place[kind]] = replace(line, more=line.more + 1)
            else:
                place[kind] = len(lines)
                lines.append(MachineLine(row.printer, 0, row.failures))
    return tuple(lines[:MOST_ROWS]), max(0, len(lines) - MOST_ROWS)


def runs_alone(shop: Shop, planned: PlannedJob) -> bool:
    """True if the plan heats, prints or cools for a job while nobody is there."""
    site = shop.scenario.site
    shifts = [(site.minute(s.start), site.minute(s.end), s.hands) for s in shop.scenario.shifts]
    hands = Hands(shifts, ())
    start, end = site.minute(planned.steps[1].start), site.minute(planned.steps[4].end)
    return hands.people(start) == 0 or hands.last_leaves(start) < end
