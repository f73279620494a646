"""Random shops and plans in the shape of the files: every feature is sometimes there and sometimes not.

They are well-formed (every id exists, every window stands upright), not sensible: nothing says
that a plan is valid for its scenario.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from scheduler.model import (
    PRINTER_STEPS,
    Anneal,
    Downtime,
    Dryer,
    DryerRun,
    DryingRow,
    Feed,
    FeedChoice,
    Forced,
    Head,
    Job,
    Material,
    Mounted,
    Nozzle,
    Oven,
    OvenRun,
    Pin,
    Plan,
    PlannedJob,
    Printer,
    Progress,
    Purge,
    Reason,
    Scenario,
    Shift,
    Site,
    Span,
    Spool,
    Step,
    UnderWay,
    Unplaced,
)
from tests.builders import at

#: How much longer than in everyday runs the random tests go on.
DEPTH = int(os.environ.get("SOAKLINE_TEST_DEPTH", "1"))


def for_examples(number: int) -> settings:
    """Settings for a random test of so many examples, the same ones each time unless run at depth."""
    return settings(
        max_examples=number * DEPTH,
        deadline=None,
        derandomize=DEPTH == 1,
        database=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


_ZONES = (UTC, timezone(timedelta(hours=2)), timezone(timedelta(hours=-3, minutes=-30)))

words = st.text(st.sampled_from('abZ09_-. é漢"\\\n'), max_size=6)
names = words.filter(str.strip)
tags = st.lists(st.sampled_from(["pei", "glass", "aero", "food", "Größe"]), max_size=2).map(tuple)
minutes = st.integers(0, 3000)


def figures(lo: float, hi: float) -> st.SearchStrategy[float]:
    """Whole, coarse and arbitrary floats, ``lo`` to ``hi``."""
    return st.one_of(
        st.integers(int(lo) + 1, int(hi)).map(float),
        st.floats(lo, hi, exclude_min=True, allow_nan=False),
    )


temperatures = figures(-40, 500)
hot = figures(41, 500)


@st.composite
def instants(draw: st.DrawFn, lo: int = -5000, hi: int = 20000) -> datetime:
    """Whole minutes about `plan_start`, under several offsets."""
    return at(draw(st.integers(lo, hi))).astimezone(draw(st.sampled_from(_ZONES)))


@st.composite
def stretches(draw: st.DrawFn, lo: int = -5000, hi: int = 20000, least: int = 0) -> tuple[datetime, datetime]:
    """A start and an end."""
    start = draw(instants(lo, hi))
    return start, start + timedelta(minutes=draw(st.integers(least, 3000)))


@st.composite
def windows(draw: st.DrawFn, ends: st.SearchStrategy[float]) -> Span:
    """A window, perhaps of one temperature."""
    return Span(*sorted((draw(ends), draw(ends))))


def some_of(ids: Sequence[str], most: int = 2) -> st.SearchStrategy[tuple[str, ...]]:
    """Different ones of these ids."""
    return st.lists(st.sampled_from(ids), unique=True, max_size=most).map(tuple) if ids else st.just(())


def one_of(ids: Sequence[str]) -> st.SearchStrategy[str | None]:
    """One of these ids or none."""
    return st.none() | st.sampled_from(ids) if ids else st.none()


def id_lists(least: int = 0, most: int = 3) -> st.SearchStrategy[list[str]]:
    """Different ids."""
    return st.lists(names, min_size=least, max_size=most, unique=True)


downtimes = st.lists(st.builds(lambda s, why: Downtime(*s, why), stretches(), words), max_size=2).map(tuple)
shifts = st.builds(lambda s, hands: Shift(*s, hands), stretches(least=1), st.integers(0, 4))
drying_rows = st.lists(st.builds(DryingRow, temperatures, figures(0, 48), st.booleans()), max_size=2).map(
    tuple
)
sizes = st.tuples(figures(0, 400), figures(0, 400), figures(0, 400))


@st.composite
def sites(draw: st.DrawFn, materials: Sequence[str]) -> Site:
    pairs = draw(st.lists(st.tuples(*[st.sampled_from(materials)] * 2), max_size=2, unique=True))
    return Site(
        draw(words),
        draw(st.sampled_from(["UTC", "Europe/Berlin", "America/St_Johns"])),
        at(0),
        draw(figures(-30, 40)),
        draw(st.booleans()),
        *(draw(minutes) for _ in range(6)),
        tuple(Purge(source, target, draw(minutes)) for source, target in pairs),
        *(draw(minutes) for _ in range(3)),
        draw(figures(0, 50)),
    )


@st.composite
def materials(draw: st.DrawFn, id: str) -> Material:
    return Material(
        id,
        draw(words),
        draw(st.sampled_from([None, "carbon", "glass", "mineral"])),
        draw(st.sampled_from([1.75, 2.85])),
        draw(windows(temperatures)),
        draw(windows(temperatures)),
        draw(windows(hot)),
        draw(temperatures),
        draw(tags),
        draw(st.booleans()),
        draw(st.booleans()),
        draw(st.booleans()),
        draw(figures(0, 1)),
        draw(drying_rows),
        draw(st.none() | minutes),
        draw(minutes),
        draw(hot),
        draw(st.none() | figures(0, 10)),
        draw(st.none() | st.builds(Anneal, temperatures, figures(0, 24))),
    )


@st.composite
def heads(draw: st.DrawFn, id: str, materials: Sequence[str], spools: Sequence[str]) -> Head:
    nozzles = tuple(
        Nozzle(nozzle, draw(figures(0, 2)), draw(st.booleans()), draw(st.booleans()), draw(temperatures))
        for nozzle in draw(id_lists(draw(st.sampled_from([1, 0])), 2))
    )
    return Head(
        id,
        draw(temperatures),
        draw(st.sampled_from([1.75, 2.85])),
        draw(st.booleans()),
        Mounted(draw(one_of(spools)), draw(one_of(materials)), draw(one_of([n.id for n in nozzles]))),
        nozzles,
    )


@st.composite
def printers(draw: st.DrawFn, id: str, materials: Sequence[str], spools: Sequence[str]) -> Printer:
    highest = draw(st.none() | figures(0, 250))
    return Printer(
        id,
        draw(temperatures),
        highest,
        None if highest is None else highest + draw(figures(1, 50)),
        draw(figures(0, 90)),
        draw(figures(0, 90)),
        draw(minutes),
        draw(minutes),
        draw(sizes),
        draw(tags),
        draw(st.booleans()),
        draw(st.booleans()),
        draw(figures(0, 3)),
        draw(tags),
        draw(temperatures),
        draw(instants()),
        draw(downtimes),
        tuple(draw(heads(head, materials, spools)) for head in draw(id_lists(1, 2))),
    )


@st.composite
def dryers(draw: st.DrawFn, id: str) -> Dryer:
    rolling = draw(st.booleans())
    fixed = draw(temperatures)
    return Dryer(
        id,
        "rolling" if rolling else "batch",
        fixed + draw(figures(0, 50)),
        fixed if rolling else None,
        draw(st.booleans()),
        draw(st.integers(1, 5)),
        draw(minutes),
        draw(downtimes),
    )


@st.composite
def spools(draw: st.DrawFn, id: str, materials: Sequence[str]) -> Spool:
    return Spool(
        id,
        draw(st.sampled_from(materials)),
        draw(words),
        draw(figures(0, 3000)),
        draw(temperatures),
        draw(tags),
        draw(instants()),
        draw(st.booleans()),
        draw(minutes),
        draw(st.none() | drying_rows),
    )


@st.composite
def feed_choices(
    draw: st.DrawFn, printer: Printer, spools: Sequence[str], number: int
) -> tuple[FeedChoice, ...] | None:
    """Heads, nozzles and spools of a printer for so many feeds, or None if it has too few."""
    ready = [head for head in printer.heads if head.nozzles]
    if len(ready) < number or len(spools) < number:
        return None
    chosen = draw(st.permutations(ready))[:number]
    reels = draw(st.permutations(spools))[:number]
    return tuple(
        FeedChoice(head.id, draw(st.sampled_from(head.nozzles)).id, spool)
        for head, spool in zip(chosen, reels, strict=True)
    )


@st.composite
def begun_steps(draw: st.DrawFn) -> tuple[Step, ...]:
    """A prefix of the six, begun before minute 0, as a shop could have lived it."""
    number = draw(st.sampled_from([4, 1, 2, 3, 5, 6]))
    # A step that nothing may delay after the last listed one has not begun: the last one still runs.
    still_running = number in (2, 3, 4)
    edges = [0]
    for kind in PRINTER_STEPS[:number]:
        gap = draw(st.integers(0, 90)) if kind in ("preheat", "unload") else 0
        edges += [edges[-1] + gap, edges[-1] + gap + draw(st.integers(0, 300))]
    starts, ends = edges[1::2], edges[2::2]
    shift = -starts[-1] - draw(st.integers(1, 500))
    if still_running:
        ends[-1] = max(ends[-1], -shift)
    return tuple(
        Step(kind, at(start + shift), at(end + shift))
        for kind, start, end in zip(PRINTER_STEPS, starts, ends, strict=False)
    )


@st.composite
def jobs(
    draw: st.DrawFn,
    id: str,
    all_jobs: Sequence[str],
    materials: Sequence[str],
    machines: Sequence[Printer],
    spools: Sequence[str],
) -> Job:
    feeds = tuple(
        Feed(
            draw(st.sampled_from(materials)),
            draw(figures(0, 2000)),
            draw(st.lists(st.sampled_from([0.25, 0.4, 0.6]), max_size=2, unique=True).map(tuple)),
            draw(tags),
        )
        for _ in range(draw(st.integers(1, 2)))
    )
    printer = draw(st.sampled_from(machines)) if machines else None
    begun = draw(st.sampled_from([True, True, False]))
    choices = draw(feed_choices(printer, spools, len(feeds))) if printer and begun else None
    return Job(
        id,
        draw(words),
        draw(words),
        draw(st.integers(1, 50)),
        draw(minutes),
        draw(sizes),
        draw(tags),
        draw(st.booleans()),
        draw(minutes),
        draw(instants()),
        draw(st.none() | instants()),
        draw(st.just(0.0) | figures(0, 10)),
        draw(one_of(all_jobs)),
        draw(st.none() | st.builds(Pin, st.just(printer.id), instants())) if printer else None,
        feeds,
        Progress(printer.id, choices, draw(begun_steps())) if printer and choices else None,
    )


@st.composite
def dryer_runs(
    draw: st.DrawFn, dryers: Sequence[str], spools: Sequence[str], latest_start: int
) -> tuple[DryerRun, ...]:
    return tuple(
        DryerRun(
            run,
            draw(st.sampled_from(dryers)),
            draw(temperatures),
            *draw(stretches(-5000, latest_start)),
            draw(some_of(spools)),
        )
        for run in (draw(id_lists(most=2)) if dryers else ())
    )


@st.composite
def oven_runs(
    draw: st.DrawFn, ovens: Sequence[str], jobs: Sequence[str], latest_start: int
) -> tuple[OvenRun, ...]:
    return tuple(
        OvenRun(
            run,
            draw(st.sampled_from(ovens)),
            draw(temperatures),
            *draw(stretches(-5000, latest_start)),
            draw(some_of(jobs)),
        )
        for run in (draw(id_lists(most=2)) if ovens else ())
    )


@st.composite
def scenarios(draw: st.DrawFn) -> Scenario:
    """A shop with none to three of everything."""
    material_ids = draw(id_lists(1))
    spool_ids, job_ids = draw(id_lists(draw(st.integers(0, 2)))), draw(id_lists())
    dryer_ids, oven_ids = draw(id_lists(most=2)), draw(id_lists(most=2))
    machines = tuple(
        draw(printers(id, material_ids, spool_ids)) for id in draw(id_lists(draw(st.integers(0, 1))))
    )
    return Scenario(
        draw(sites(material_ids)),
        tuple(draw(st.lists(shifts, min_size=1, max_size=3))),
        tuple(draw(materials(id)) for id in material_ids),
        machines,
        tuple(draw(dryers(id)) for id in dryer_ids),
        tuple(Oven(id, draw(temperatures), draw(st.integers(1, 5)), draw(downtimes)) for id in oven_ids),
        tuple(draw(spools(id, material_ids)) for id in spool_ids),
        tuple(draw(jobs(id, job_ids, material_ids, machines, spool_ids)) for id in job_ids),
        UnderWay(draw(dryer_runs(dryer_ids, spool_ids, -1)), draw(oven_runs(oven_ids, job_ids, -1))),
    )


@st.composite
def planned_jobs(draw: st.DrawFn, job: Job, machines: Sequence[Printer], spools: Sequence[str]) -> Any:
    """A planned job, or None if no machine could take it."""
    printer = draw(st.sampled_from(machines)) if machines else None
    choices = draw(feed_choices(printer, spools, len(job.feeds))) if printer else None
    if printer is None or choices is None:
        return None
    steps = tuple(Step(kind, *draw(stretches())) for kind in PRINTER_STEPS)
    return PlannedJob(
        job.id,
        printer.id,
        choices,
        draw(temperatures),
        draw(st.none() | names),
        draw(instants()),
        draw(minutes),
        steps,
    )


def unplaced_jobs(id: str, machines: Sequence[Printer]) -> st.SearchStrategy[Unplaced]:
    """A job without a place, with reasons of every shape."""
    figure = st.none() | words | st.integers(-1000, 1000) | figures(-1000, 1000)
    reason = st.builds(
        Reason,
        names,
        one_of([printer.id for printer in machines]),
        st.none(),
        st.none(),
        figure,
        figure,
        words,
    )
    return st.builds(Unplaced, st.just(id), st.lists(reason, max_size=3).map(tuple))


@st.composite
def plans(draw: st.DrawFn, scenario: Scenario) -> Plan:
    """A plan file for a shop: its ids are the shop's, its figures are any."""
    spool_ids = [spool.id for spool in scenario.spools]
    job_ids = [job.id for job in scenario.jobs]
    drawn = [(job, draw(planned_jobs(job, scenario.printers, spool_ids))) for job in scenario.jobs]
    return Plan(
        draw(st.text("0123456789abcdef", min_size=64, max_size=64)),
        draw(instants()),
        draw(figures(0, 1e6)),
        draw(minutes),
        draw(minutes),
        draw(st.none() | figures(0, 1e6)),
        draw(figures(0, 300)),
        draw(st.integers(-5, 2**40)),
        tuple(planned for _, planned in drawn if planned),
        draw(dryer_runs([dryer.id for dryer in scenario.dryers], spool_ids, 9000)),
        draw(oven_runs([oven.id for oven in scenario.ovens], job_ids, 9000)),
        tuple(Forced(id, draw(names), draw(words)) for id in draw(some_of(job_ids))),
        tuple(draw(unplaced_jobs(job.id, scenario.printers)) for job, planned in drawn if not planned),
    )
