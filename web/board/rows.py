"""What each machine does, as rows of blocks: a job or a run, made of bars."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from scheduler.model import Downtime, DryerRun, OvenRun, PlannedJob
from web.board.groups import grouped, span_words
from web.queue.book import part_name
from web.shop import Shop
from web.times import lasts, when

#: Bars of a drawing: the six printer steps, the two kinds of runs, and machines out of use.
STEP_WORDS = {
    "changeover": "Changeover",
    "preheat": "Preheat",
    "start": "Start",
    "print": "Print",
    "cooldown": "Cool-down",
    "unload": "Unload",
    "dry": "Drying run",
    "anneal": "Anneal",
    "down": "Out of use",
}
STEP_LETTERS = {
    "changeover": "C",
    "preheat": "H",
    "start": "S",
    "print": "P",
    "cooldown": "D",
    "unload": "U",
    "dry": "Y",
    "anneal": "A",
    "down": "X",
}


@dataclass(frozen=True, slots=True)
class Bar:
    """One step over ``[start, end)`` with what a pointer or screen reader is told."""

    kind: str
    start: datetime
    end: datetime
    title: str


@dataclass(frozen=True, slots=True)
class Block:
    """A job on its printer, or a run in its dryer or oven.

    ``lane`` counts runs that overlap, from 0; only rolling dryers have more than one.
    """

    href: str | None
    label: str
    text: str
    title: str
    start: datetime
    end: datetime
    late_min: int
    bars: tuple[Bar, ...]
    lane: int = 0


@dataclass(frozen=True, slots=True)
class Row:
    """One machine."""

    id: str
    href: str
    note: str
    blocks: tuple[Block, ...]
    downtime: tuple[Bar, ...]

    @property
    def lanes(self) -> int:
        return 1 + max((block.lane for block in self.blocks), default=0)


@dataclass(frozen=True, slots=True)
class Group:
    """Machines that belong together, under one heading."""

    key: str
    title: str
    note: str
    rows: tuple[Row, ...]


def span(start: datetime, end: datetime) -> str:
    """Both ends and how long: "Tue 14:05 to 15:31, 1 h 26 min"."""
    first, last = when(start), when(end)
    far = last if last[:3] != first[:3] else last[-5:]
    return f"{first} to {far}, {lasts((end - start).total_seconds() / 60)}"


def bar(kind: str, start: datetime, end: datetime, more: str = "") -> Bar:
    """A bar with its title."""
    return Bar(kind, start, end, f"{STEP_WORDS[kind]} {span(start, end)}{more}")


def _down(downtime: Sequence[Downtime]) -> tuple[Bar, ...]:
    return tuple(bar("down", stop.start, stop.end, f": {stop.reason}") for stop in downtime)


def _job_block(shop: Shop, planned: PlannedJob, names: bool) -> Block:
    job = shop.jobs.get(planned.job)
    part = part_name(shop, planned.job, names)
    if job and job.quantity > 1:
        part = f"{part} ×{job.quantity}"
    material = job.feeds[0].material if job else ""
    late = f", {lasts(planned.late_min)} late" if planned.late_min > 0 else ""
    heat = f", chamber at {planned.chamber_c:g} °C"
    bars = tuple(
        bar(step.kind, step.start, step.end, heat if step.kind in ("preheat", "print") else "")
        for step in planned.steps
    )
    return Block(
        f"/jobs/{planned.job}",
        planned.job,
        part,
        f"{planned.job} {part}, {material}: done {when(planned.done)}{late}",
        planned.steps[0].start,
        planned.steps[-1].end,
        planned.late_min,
        bars,
    )


def _dryer_block(shop: Shop, run: DryerRun) -> Block:
    names = [f"{id} ({shop.spools[id].material})" if id in shop.spools else id for id in run.spools]
    title = f"Drying at {run.setpoint_c:g} °C, {span(run.start, run.end)}: {', '.join(names)}"
    label = f"{run.setpoint_c:g}°"
    return Block(
        None,
        label,
        ", ".join(run.spools),
        title,
        run.start,
        run.end,
        0,
        (Bar("dry", run.start, run.end, title),),
    )


def _oven_block(run: OvenRun) -> Block:
    title = f"Anneal at {run.temp_c:g} °C, {span(run.start, run.end)}: {', '.join(run.jobs)}"
    return Block(
        f"/jobs/{run.jobs[0]}" if len(run.jobs) == 1 else None,
        f"{run.temp_c:g}°",
        ", ".join(run.jobs),
        title,
        run.start,
        run.end,
        0,
        (Bar("anneal", run.start, run.end, title),),
    )


def _in_lanes(blocks: list[Block]) -> tuple[Block, ...]:
    """Give overlapping blocks lanes of their own, the first free one each."""
    ends: list[datetime] = []
    placed = []
    for block in sorted(blocks, key=lambda block: (block.start, block.end, block.label)):
        lane = next((n for n, end in enumerate(ends) if end <= block.start), len(ends))
        if lane == len(ends):
            ends.append(block.end)
        ends[lane] = block.end
        placed.append(replace(block, lane=lane))
    return tuple(placed)


def machine_groups(shop: Shop, names: bool) -> tuple[Group, ...]:
    """Every machine of the shop with what the shown plan gives it, coolest printers first.

    Parameters
    ----------
    names : bool
        True if whoever looks may see the names of parts under non-disclosure.
    """
    blocks: dict[str, list[Block]] = {}
    oven_blocks: dict[str, list[Block]] = {}
    if shop.plan:
        for planned in shop.plan.jobs:
            blocks.setdefault(planned.printer, []).append(_job_block(shop, planned, names))
        for run in shop.plan.dryer_runs:
            blocks.setdefault(run.dryer, []).append(_dryer_block(shop, run))
        for oven_run in shop.plan.oven_runs:
            oven_blocks.setdefault(oven_run.oven, []).append(_oven_block(oven_run))
    groups = []
    for thermal, printers in grouped(shop.scenario.printers):
        rows = tuple(
            Row(
                printer.id,
                f"/fleet/printers/{printer.id}",
                "2 heads" if len(printer.heads) > 1 else "",
                tuple(sorted(blocks.get(printer.id, ()), key=lambda block: block.start)),
                _down(printer.downtime),
            )
            for printer in printers
        )
        groups.append(Group(thermal.key, thermal.title, span_words(printers), rows))
    both = {dryer.id for dryer in shop.scenario.dryers} & {oven.id for oven in shop.scenario.ovens}
    dryers = tuple(
        Row(
            dryer.id,
            f"/fleet/dryers/{dryer.id}",
            " ".join(
                word
                for word in ("rolling" if dryer.kind == "rolling" else "", "vacuum" if dryer.vacuum else "")
                if word
            ),
            # A dryer that is an oven too is one machine, and one row.
            _in_lanes(blocks.get(dryer.id, []) + (oven_blocks.get(dryer.id, []) if dryer.id in both else [])),
            _down(dryer.downtime),
        )
        for dryer in shop.scenario.dryers
    )
    ovens = tuple(
        Row(
            oven.id,
            f"/fleet/ovens/{oven.id}",
            "",
            _in_lanes(oven_blocks.get(oven.id, [])),
            _down(oven.downtime),
        )
        for oven in shop.scenario.ovens
        if oven.id not in both
    )
    if dryers:
        hottest = max(dryer.max_c for dryer in shop.scenario.dryers)
        groups.append(Group("dryers", "Dryers", f"up to {hottest:g} °C", dryers))
    if ovens:
        hottest = max(oven.max_c for oven in shop.scenario.ovens)
        groups.append(Group("ovens", "Annealing ovens", f"up to {hottest:g} °C", ovens))
    return tuple(groups)
