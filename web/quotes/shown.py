"""What the pages of the quote desk show of a way, put together from its plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from scheduler.model import PlannedJob
from scheduler.quoting.ways import CHANCES, Way
from scheduler.store import StoredPlan
from web.jobs import page
from web.jobs.drawing import JobDrawing, Lane, Stroke, draw
from web.quotes.dots import DotPlot, plot
from web.shop import Shop

#: Plates of a way that are drawn; the last to be done come first.
DRAWN_PLATES = 6
TITLES = {"as planned": "As planned", "sooner": "Sooner", "later": "Later and cheaper"}


@dataclass(frozen=True)
class ShownWay:
    """A way with its drawings."""

    way: Way
    title: str
    chance: float
    promise: datetime
    drawing: JobDrawing
    dots: DotPlot
    plates: tuple[PlannedJob, ...]
    undrawn: int


@dataclass(frozen=True, slots=True)
class PlateState:
    """How one plate stands, in words for the customer."""

    number: int
    word: str
    done: datetime | None


def shown(way: Way, chance: float, zone: tzinfo, now: datetime, wanted: datetime | None) -> ShownWay:
    """A way as the answer page shows it, promised with one of `CHANCES`."""
    shop = shop_of(way, now)
    last = sorted(way.jobs, key=lambda job: (job.done, job.job), reverse=True)
    lanes: list[Lane] = []
    for planned in reversed(last[:DRAWN_PLATES]):
        for lane in page.lanes(shop, shop.jobs[planned.job], planned):
            # The same machine twice is one row.
            there = next((n for n, known in enumerate(lanes) if known.name == lane.name), None)
            if there is None:
                lanes.append(lane)
            else:
                strokes = {(s.kind, s.start, s.end): s for s in (*lanes[there].strokes, *lane.strokes)}
                lanes[there] = Lane(lane.name, tuple(_by_start(list(strokes.values()))))
    promise = way.promise(chance)
    return ShownWay(
        way,
        TITLES[way.name],
        chance,
        promise,
        draw(lanes, zone, now, wanted, "wish"),
        plot(way.dots, promise, zone, way.level(chance) - chance),
        tuple(reversed(last[:DRAWN_PLATES])),
        max(0, len(last) - DRAWN_PLATES),
    )


def shop_of(way: Way, now: datetime) -> Shop:
    """The shop with a way's jobs and plan in it, as pages read shops."""
    stored = StoredPlan(0, "proposal", way.plan, 0, 0, way.insertion.scenario.site.plan_start, now, None)
    return Shop(0, way.insertion.scenario, None, stored)


def plate_states(jobs: Sequence[PlannedJob], gone: int, now: datetime) -> tuple[PlateState, ...]:
    """Every plate of an order by the plan; ``gone`` have left the plan and are done."""
    states = [PlateState(number, "done", None) for number in range(1, gone + 1)]
    for number, planned in enumerate(sorted(jobs, key=lambda job: (job.done, job.job)), gone + 1):
        states.append(PlateState(number, _word(planned, now), planned.done))
    return tuple(states)


def _word(planned: PlannedJob, now: datetime) -> str:
    steps = {step.kind: step for step in planned.steps}
    if now >= planned.done:
        return "done"
    if now >= steps["unload"].end:
        return "being finished"
    if now >= steps["print"].end:
        return "cooling down slowly"
    if now >= steps["print"].start:
        return "printing"
    if now >= steps["changeover"].start:
        return "being set up"
    return "in the plan"


def _by_start(strokes: list[Stroke]) -> list[Stroke]:
    return sorted(strokes, key=lambda stroke: stroke.start)


__all__ = ["CHANCES", "PlateState", "ShownWay", "plate_states", "shop_of", "shown"]
