"""A spool's moisture as it goes: before now, now, and as the plan has it.

What nobody has measured is assumed, and the assumption is told: a dried spool left its dryer at half
the limit and has stood open for its exposed minutes; one that is not dried is as wet as the room.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from scheduler.model import DryerRun, Material, Plan, PlannedJob, Scenario, Spool
from scheduler.physics.climate import Climate
from scheduler.physics.derive import Surroundings
from scheduler.physics.moisture.air import Air
from scheduler.physics.moisture.coil import STILL, WOUND, Around, stage
from scheduler.physics.moisture.drying import REFERENCE_PCT, DryerAir, anchor
from scheduler.physics.moisture.open_time import DRIED_SHARE, exposed
from scheduler.physics.moisture.polymer import Polymer
from scheduler.physics.moisture.polymers import polymer_of
from scheduler.physics.moisture.strand import Stage, Strand

#: Room air is taken anew so often, and a curve has a point so often.
PIECE = timedelta(hours=2)
RINGS = 48
#: How long the curve goes on after the last thing that is planned.
AFTER = timedelta(hours=6)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a spool is over ``[start, end)``: ``room``, ``dry`` (storage or feed) or a dryer's run."""

    start: datetime
    end: datetime
    where: str
    run: DryerRun | None = None
    job: str | None = None


@dataclass(frozen=True, slots=True)
class Course:
    """A spool's moisture through time.

    Parameters
    ----------
    points, quick, slow : tuples of (datetime, float)
        Mean moisture, %: with the polymer's figures, and with the fastest and slowest diffusivity.
    allowed_pct : float or None
        What the shop's own recipes and open time come to in the model, %; ``None`` where they set nothing.
    now_pct : float or None
        At the instant asked for; ``None`` outside of the curve.
    starts : tuple of (str, datetime, float)
        Each planned print's job, start and the spool's moisture then.
    assumed : str
        What is assumed of its past.
    """

    polymer: Polymer
    limit_pct: float
    allowed_pct: float | None
    points: tuple[tuple[datetime, float], ...]
    quick: tuple[tuple[datetime, float], ...]
    slow: tuple[tuple[datetime, float], ...]
    places: tuple[Place, ...]
    now_pct: float | None
    starts: tuple[tuple[str, datetime, float], ...]
    assumed: str


def course(
    scenario: Scenario,
    plan: Plan | None,
    spool: Spool,
    air: Climate,
    around: Surroundings,
    now: datetime,
    *,
    spread: bool = True,
) -> Course | None:
    """The course of a spool's moisture; ``None`` where nothing is known of its polymer.

    Without ``spread`` the curves of the fastest and slowest diffusivity are not worked out.
    """
    material = next(each for each in scenario.materials if each.id == spool.material)
    polymer = polymer_of(material)
    if polymer is None:
        return None
    own = around.of(material.id).limit_pct
    limit = polymer.limit.value if own is None else own
    begin, places = _places(scenario, plan, spool)
    kinds = (polymer, polymer.faster(), polymer.slower()) if spread else (polymer,)
    curves = [_curve(each, scenario, material, spool, limit, begin, places, air, around) for each in kinds]
    middle = curves[0]
    begun = [(planned.job, planned.steps[3].start) for planned in _mounts(plan, spool)]
    starts = tuple((job, at, pct) for job, at in begun if (pct := _at(middle, at)) is not None)
    if spool.dried:
        assumed = f"out of its dryer at {limit * DRIED_SHARE:.2g} %, open for {spool.exposed_min} min since"
    else:
        assumed = f"as wet as the room makes it, {middle[0][1]:.2g} %"
    return Course(
        polymer=polymer,
        limit_pct=limit,
        allowed_pct=_allowed(polymer, scenario, material, limit),
        points=middle,
        quick=curves[1] if spread else middle,
        slow=curves[2] if spread else middle,
        places=places,
        now_pct=_at(middle, now),
        starts=starts,
        assumed=assumed,
    )


def _allowed(polymer: Polymer, scenario: Scenario, material: Material, limit: float) -> float | None:
    """What the shop's own rules let a spool have at a print's end, %; ``None`` where they set nothing.

    The driest of its recipes, then the whole of its open time in a room of the reference humidity.
    """
    if not material.drying or material.open_time_min is None:
        return None
    room_c = scenario.site.ambient_c
    known = [
        anchor(polymer, material.filament_mm, (row,), row.temp_c, row.vacuum, limit, DryerAir(), room_c)
        for row in material.drying
    ]
    driest = min(each.goal_pct for each in known)
    # A recipe that reaches the limit goes on to half of it, as spools are taken to leave a dryer.
    dried = limit * DRIED_SHARE if driest <= limit else driest
    room = Air.of_room(room_c, REFERENCE_PCT)
    open_for = exposed(polymer, Strand.even(material.filament_mm, dried, RINGS), room, material.open_time_min)
    return max(limit, open_for.mean_pct)


def _mounts(plan: Plan | None, spool: Spool) -> list[PlannedJob]:
    jobs = [job for job in (plan.jobs if plan else ()) if any(feed.spool == spool.id for feed in job.feeds)]
    return sorted(jobs, key=lambda job: job.steps[0].start)


def _places(scenario: Scenario, plan: Plan | None, spool: Spool) -> tuple[datetime, tuple[Place, ...]]:
    """Where the spool is from when its history begins, without gaps."""
    start = max(scenario.site.plan_start, spool.available_from)
    stays: list[Place] = []
    for run in plan.dryer_runs if plan else scenario.under_way.dryer_runs:
        if spool.id in run.spools:
            stays.append(Place(run.start, run.end, "dryer", run=run))
    dry_heads = {
        (printer.id, head.id) for printer in scenario.printers for head in printer.heads if head.dry_feed
    }
    for job in _mounts(plan, spool):
        feed = next(feed for feed in job.feeds if feed.spool == spool.id)
        where = "dry" if (job.printer, feed.head) in dry_heads else "room"
        stays.append(Place(job.steps[0].start, job.steps[-1].end, where, job=job.job))
    stays.sort(key=lambda stay: stay.start)
    shelf = "dry" if scenario.site.dry_storage else "room"
    begin = start - timedelta(minutes=spool.exposed_min) if spool.dried else start
    if stays and stays[0].run is not None:
        begin = min(begin, stays[0].start)
    places: list[Place] = []
    clock = begin
    if spool.dried and begin < start:
        places.append(Place(begin, start, "room"))
        clock = start
    for stay in stays:
        if stay.end <= clock:
            continue
        if stay.start > clock:
            places.append(Place(clock, stay.start, shelf))
        places.append(Place(max(clock, stay.start), stay.end, stay.where, stay.run, stay.job))
        clock = stay.end
    places.append(Place(clock, clock + AFTER, shelf))
    return begin, tuple(places)


def _curve(
    polymer: Polymer,
    scenario: Scenario,
    material: Material,
    spool: Spool,
    limit: float,
    begin: datetime,
    places: Sequence[Place],
    air: Climate,
    around: Surroundings,
) -> tuple[tuple[datetime, float], ...]:
    zone = ZoneInfo(scenario.site.timezone)
    if spool.dried:
        first = limit * DRIED_SHARE
    else:
        room = air.air(begin, zone)
        first = polymer.isotherm.moisture_pct(room.humidity, room.temp_c)
    strand = Strand.even(material.filament_mm, first, RINGS)
    points = [(begin, strand.mean_pct)]
    for place in places:
        clock = place.start
        while clock < place.end:
            end = min(clock + PIECE, place.end)
            minutes = (end - clock) / timedelta(minutes=1)
            if place.where == "dry":
                strand = strand.after(_sealed(polymer, air.temp_c, strand), minutes)
            else:
                there = _around(scenario, place, air, around, clock, zone)
                if place.run is not None and clock == place.start:
                    # The coil must warm through before it gives off water.
                    minutes = max(0.0, minutes - there.coil.warm_through_min)
                conditions = stage(polymer, there, material.filament_mm, strand.mean_pct)
                strand = strand.after(conditions, minutes)
            clock = end
            points.append((clock, strand.mean_pct))
    return tuple(points)


def _sealed(polymer: Polymer, temp_c: float, strand: Strand) -> Stage:
    """Nothing comes in or goes out; what is inside evens out."""
    return Stage(polymer.motion.m2_per_s(temp_c), strand.mean_pct, 1e-12)


def _around(
    scenario: Scenario, place: Place, air: Climate, around: Surroundings, at: datetime, zone: ZoneInfo
) -> Around:
    room = air.air(at, zone)
    if place.run is None:
        return Around(room, WOUND, STILL)
    dryer = next((each for each in scenario.dryers if each.id == place.run.dryer), None)
    vacuum = dryer is not None and dryer.vacuum
    return around.dryer(place.run.dryer).around(room, place.run.setpoint_c, vacuum)


def _at(points: Sequence[tuple[datetime, float]], at: datetime) -> float | None:
    for (before, low), (after, high) in pairwise(points):
        if before <= at <= after:
            share = (at - before) / (after - before)
            return low + share * (high - low)
    return None
