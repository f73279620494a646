"""Curves of what was recorded: a spool's moisture, a chamber's heating, and humid days."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo

import numpy as np
from markupsafe import Markup

from scheduler.model import DryingRow, Printer, Spool
from scheduler.office.measured import climate, humidity_now, reach_trend, surroundings
from scheduler.office.shop import scenario_of_plan
from scheduler.office.spool_water import Course, course
from scheduler.physics.chart import Band, Chart, Line, Mark
from scheduler.physics.climate import Climate
from scheduler.physics.derive import Surroundings, derive
from scheduler.physics.heat import cooldown_c
from scheduler.physics.reach import Trend
from scheduler.store import RecordedFit
from web.services import Services
from web.shop import Shop
from web.times import WEEKDAYS

HOUR = timedelta(hours=1)
#: Spools whose moisture one page works out.
LISTED = 120
#: Humidities that the look at a humid week goes through, %.
STEPS = (40, 50, 60, 70, 80)


def told_of(here: Services, shop: Shop) -> tuple[Climate, Surroundings]:
    """The room's air and what the model is told of the shop now."""
    with here.record.reading() as unit:
        now = here.clock()
        return climate(unit, shop.scenario), surroundings(unit, shop.scenario, now)


def spool_course(here: Services, shop: Shop, spool: Spool) -> Course | None:
    """The course of a spool's moisture as the shown plan has it."""
    air, around = told_of(here, shop)
    return course(shop.scenario, shop.plan, spool, air, around, here.clock())


def offers(here: Services, shop: Shop, spool: Spool) -> list[tuple[DryingRow, str]]:
    """Runs that the model would add for a spool, each with a sentence."""
    _, around = told_of(here, shop)
    derived = derive(shop.scenario, around)
    own = shop.materials[spool.material]
    material = next(each for each in derived.scenario.materials if each.id == spool.material)
    told = [note.text for note in derived.notes if note.kind == "row" and note.subject == material.id]
    added = list(zip(material.drying[len(own.drying) :], told, strict=True))
    return [(row, text) for row, text in added if row.temp_c <= spool.body_max_c and spool.drying is None]


def draw_course(found: Course, spool: str, now: datetime, zone: tzinfo) -> Markup:
    """The curve with now, the planned prints and the limit."""
    zero = found.points[0][0]

    def hours(points: tuple[tuple[datetime, float], ...]) -> list[tuple[float, float]]:
        return [((at - zero) / HOUR, value) for at, value in points]

    middle = hours(found.points)
    last = found.points[-1][0]
    instants = [Mark(f"print {job}", (at - zero) / HOUR) for job, at, _ in found.starts[:4]]
    if zero <= now <= last:
        instants.insert(0, Mark("now", (now - zero) / HOUR))
    allowed = found.allowed_pct if found.allowed_pct != found.limit_pct else None
    chart = Chart(
        title=f"Moisture of {spool}",
        tells=f"From {middle[0][1]:.3g} % to {middle[-1][1]:.3g} %; the limit is {found.limit_pct:.3g} %.",
        x_label="day and hour",
        y_label="water, % of dry mass",
        lines=[Line("the spool", middle)],
        bands=[Band("what the range of the diffusivity leaves open", hours(found.quick), hours(found.slow))],
        limits=[Mark(f"limit {found.limit_pct:.3g} %", found.limit_pct)]
        + ([] if allowed is None else [Mark(f"shop's rules {allowed:.2g} %", allowed)]),
        instants=instants,
        ticks=_ticks(zero, last, zone),
    )
    # Our own drawing, its texts escaped where it is made.
    return Markup(chart.for_page())


def _ticks(zero: datetime, last: datetime, zone: tzinfo) -> list[tuple[float, str]]:
    """Round hours of the shop's clock, six of them or so."""
    span = (last - zero) / HOUR
    step = next(step for step in (1, 2, 3, 6, 12, 24, 48, 96, 192, 384, 100_000) if span / step <= 7)
    first = zero.astimezone(zone).replace(minute=0, second=0, microsecond=0)
    found = []
    for count in range(int(span) + 2):
        at = first + count * HOUR
        if at < zero or at > last or (at.hour % step if step < 24 else at.hour or count % step >= 24):
            continue
        found.append(((at - zero) / HOUR, f"{WEEKDAYS[at.weekday()]} {at:%H:%M}"))
    return found[:8]


@dataclass(frozen=True, slots=True)
class Heat:
    """A printer's heating and cooling: the recorded curve, the newest fits, and how the reach goes."""

    drawing: Markup | None
    logs: tuple[RecordedFit, ...]
    trend: Trend | None


def heat_of(here: Services, shop: Shop, printer: Printer) -> Heat:
    """What is known of a printer's chamber."""
    with here.record.reading() as unit:
        logs = unit.water.logs(printer.id)
    heated = printer.chamber_reach_c is not None and printer.chamber_max_c is not None
    drawing = _heating_chart(shop, printer, logs) if heated else None
    return Heat(drawing, logs, reach_trend(printer, logs))


def _heating_chart(shop: Shop, printer: Printer, logs: tuple[RecordedFit, ...]) -> Markup:
    ambient = shop.scenario.site.ambient_c
    reach, hottest = printer.chamber_reach_c, printer.chamber_max_c
    assert reach is not None and hottest is not None
    to_hottest = printer.heat_tau_min * float(np.log((reach - ambient) / (reach - hottest)))
    rising = np.linspace(0, to_hottest, 40)
    falling = np.linspace(0, 2.5 * printer.cool_tau_min, 40)
    recorded = [
        (float(t), float(reach - (reach - ambient) * np.exp(-t / printer.heat_tau_min))) for t in rising
    ]
    recorded += [
        (to_hottest + float(t), cooldown_c(hottest, float(t), None, printer.cool_tau_min, ambient))
        for t in falling
    ]
    lines = [Line("on record", recorded)]
    heating = next((each.fit for each in reversed(logs) if each.fit.kind == "heating"), None)
    limits = [Mark(f"hottest setpoint {hottest:g} °C", hottest)]
    if heating is not None:
        times = np.linspace(0, max(to_hottest, float(heating.minutes[-1])), 40)
        lines.append(Line("newest fit", list(zip(times.tolist(), heating.at(times).tolist(), strict=True))))
        readings = list(zip(heating.minutes.tolist(), heating.temps_c.tolist(), strict=True))
        lines.append(Line("", readings, dots=True))
    chart = Chart(
        title=f"Chamber of {printer.id}",
        tells=f"From {ambient:g} to {hottest:g} °C in {to_hottest:.0f} minutes, then falling without power.",
        x_label="minutes at full power, then without",
        y_label="chamber, °C",
        lines=lines,
        limits=limits,
    )
    # Our own drawing, its texts escaped where it is made.
    return Markup(chart.for_page())


@dataclass(frozen=True, slots=True)
class Wet:
    """A spool in the list: its moisture now and at its next print, beside limit and the shop's own rules."""

    spool: Spool
    now_pct: float | None
    limit_pct: float
    allowed_pct: float | None
    next: tuple[str, datetime, float] | None


def wet_spools(here: Services, shop: Shop) -> list[Wet]:
    """The moisture of the shop's spools, those first that are used first."""
    now = here.clock()
    key = ("wet spools", shop.stored.number if shop.stored else None, now.replace(second=0, microsecond=0))
    if key not in shop.memo:
        air, around = told_of(here, shop)
        used = {feed.spool for job in shop.planned.values() for feed in job.feeds}
        ordered = sorted(shop.scenario.spools, key=lambda spool: spool.id not in used)
        found = []
        for spool in ordered[:LISTED]:
            one = course(shop.scenario, shop.plan, spool, air, around, now, spread=False)
            if one is not None:
                ahead = next((start for start in one.starts if start[1] >= now), None)
                found.append(Wet(spool, one.now_pct, one.limit_pct, one.allowed_pct, ahead))
        shop.memo[key] = found
    listed = shop.memo[key]
    assert isinstance(listed, list)
    return listed


@dataclass(frozen=True, slots=True)
class Humid:
    """One humidity: open times that shrink, and jobs of the shown plan that would be open for too long."""

    humidity_pct: float
    shrunk: tuple[str, ...]
    jobs: tuple[str, ...]


def humid_week(here: Services, shop: Shop) -> tuple[float, list[Humid]]:
    """Today's humidity, and what each humidity does to the shown plan as it stands."""
    from scheduler.checking import open_too_long

    now = here.clock()
    with here.record.reading() as unit:
        today = humidity_now(unit, shop.scenario, now)
        around = surroundings(unit, shop.scenario, now)
    if shop.stored is None or shop.plan is None:
        return today, []
    key = ("humid week", shop.stored.number, round(today), tuple(sorted(around.dryers)))
    if key not in shop.memo:
        scenario = scenario_of_plan(here.record, shop.stored.number) or shop.scenario
        without_spools = replace(scenario, spools=())
        known = open_too_long(scenario, shop.plan)
        found = []
        for humidity in sorted({*STEPS, round(today)}):
            # Only open times matter here: rows for spools harm no plan that does without them.
            derived = derive(without_spools, Surroundings(humidity, around.dryers, around.limits))
            air = replace(derived.scenario, spools=scenario.spools)
            jobs = sorted(open_too_long(air, shop.plan) - known)
            shrunk = tuple(note.text for note in derived.notes if note.kind == "open time")
            found.append(Humid(humidity, shrunk, tuple(jobs)))
        shop.memo[key] = found
    listed = shop.memo[key]
    assert isinstance(listed, list)
    return today, listed
