"""What would give a request a place, or one by the wish: each change tried by putting it in, none guessed."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from scheduler.matching import Matcher
from scheduler.model import Job, Plan, Scenario, Shift, Spool
from scheduler.planning.explain.words import Clockwork
from scheduler.planning.insert import Insertion, insert
from scheduler.planning.tighten import tighten
from scheduler.planning.whatif.changes import Change, changes, with_printer
from scheduler.quoting.applied import planned_jobs, varied
from scheduler.quoting.ask import Ask
from scheduler.quoting.forecast import forecast
from scheduler.quoting.plates import jobs_of, needed_spools
from scheduler.quoting.variation import Variation

#: A change is worth telling if it brings the plan's date forward by so many minutes.
WORTH_MIN = 30
#: Days until filament is delivered, where the request says that nothing is bought for it.
USUAL_DAYS = 3
#: Machines whose downtime is taken away, one at a time.
DOWNTIMES = 3
#: Replications for the dates of what helps.
REPLICATIONS = 100
WEEK = timedelta(days=7)

#: What is thought to cost least first; an order of magnitude, a shop knows its own prices.
DEARNESS = (
    "promise",
    "plates",
    "later",
    "overtime",
    "hand",
    "spool",
    "downtime",
    "nozzle",
    "dryer",
    "machine",
)


@dataclass(frozen=True)
class Request:
    """A request and the shop that it is put into.

    Parameters
    ----------
    ask : Ask
        With its print times as they are planned.
    factors : dict
        By material, how much longer than estimated that is.
    spools : tuple of Spool
        To be bought for it anyway.
    chance : float
        With which the dates told are kept.
    matched, limits
        As `insert` takes them.
    """

    scenario: Scenario
    plan: Plan
    ask: Ask
    factors: Mapping[str, float]
    order: str
    release: datetime
    spools: tuple[Spool, ...]
    variation: Variation
    chance: float
    matched: bool
    limits: Mapping[str, datetime] = field(default_factory=dict)

    def jobs(self, most: int | None = None) -> tuple[Job, ...]:
        """Its plates, of at most so many parts."""
        return jobs_of(self.ask, self.order, self.release, self.scenario, most)


@dataclass(frozen=True, slots=True)
class Opening:
    """What one change comes to.

    Parameters
    ----------
    kind : str
        One of `DEARNESS`; "none": nothing changed.
    words : str
        As a clause: "one more person Tue 06:00 to 14:00".
    planned_for : datetime or None
        When the plan then has everything done; ``None``: still no place.
    by : datetime or None
        Done by then with the chance asked for; worked out for what helps, and for nothing changed.
    in_time : bool
        Whether that is by the wish; without a wish, whether there is a place.
    """

    kind: str
    words: str
    planned_for: datetime | None
    by: datetime | None = None
    in_time: bool = False


@dataclass(frozen=True, slots=True)
class Openings:
    """All that was tried.

    Parameters
    ----------
    today : Opening
        With nothing changed.
    helpful : tuple of Opening
        Those by the wish first, then by what they are thought to cost.
    idle : tuple of str
        What was tried and gives no place, or no better date.
    left : int
        How many were not tried, because the time was up.
    """

    wanted: datetime | None
    chance: float
    today: Opening
    helpful: tuple[Opening, ...]
    idle: tuple[str, ...]
    left: int
    seconds: float


@dataclass(frozen=True)
class _Try:
    """A change with all that `insert` needs."""

    kind: str
    words: str
    scenario: Scenario
    jobs: tuple[Job, ...]
    spools: tuple[Spool, ...]
    aside: tuple[str, ...] = field(default=())


def openings(
    request: Request, *, limit_s: float | None = None, timer: Callable[[], float] = time.monotonic
) -> Openings:
    """Try each change that may give a request a place, or an earlier one.

    Parameters
    ----------
    limit_s : float or None
        No trial begins later than so many seconds after the first, as ``timer`` counts.
    """
    began = timer()
    wanted = request.ask.wanted
    bare = _Try("none", "nothing changed", request.scenario, request.jobs(), request.spools)
    first = _put(request, bare)
    today = _dated(request, bare, first)
    date = first.date if first.whole else None
    helpful, idle, left = [], [], 0
    first_began = timer()
    for one in _tries(request, bare, first):
        if limit_s is not None and timer() - first_began > limit_s:
            left += 1
            continue
        found = _put(request, one)
        if not found.whole or (date is not None and found.date > date - timedelta(minutes=WORTH_MIN)):
            idle.append(one.words)
            continue
        helpful.append(_dated(request, one, found))
    helpful.sort(key=lambda opening: (not opening.in_time, DEARNESS.index(opening.kind), opening.by))
    return Openings(
        wanted, request.chance, today, tuple(helpful), tuple(idle), left, round(timer() - began, 2)
    )


def _put(request: Request, one: _Try) -> Insertion:
    found = insert(
        one.scenario,
        request.plan,
        one.jobs,
        spools=one.spools,
        aside=one.aside,
        matched=request.matched,
        limits=request.limits,
    )
    return found if one.aside else tighten(found)


def _dated(request: Request, one: _Try, found: Insertion) -> Opening:
    if not found.whole:
        return Opening(one.kind, one.words, None)
    shop = found.scenario
    by_order = {(request.order, material): factor for material, factor in request.factors.items()}
    variation = varied(request.variation, planned_jobs(one.jobs, by_order))
    made = found.plan("", shop.site.plan_start)
    carried = forecast(shop, made, variation, replications=REPLICATIONS)
    by = max(found.date, carried.promise(found.added, variation.level(request.chance)))
    wanted = request.ask.wanted
    return Opening(one.kind, one.words, found.date, by, wanted is None or by <= wanted)


def _tries(request: Request, bare: _Try, first: Insertion) -> Iterator[_Try]:
    """All changes, the cheapest kinds first; those for one plate are for the one that decides."""
    shop, made = first.scenario, first.plan("", first.scenario.site.plan_start)
    missing = [id for id in first.added if id not in first.done]
    decides = missing[0] if missing else max(first.done, key=lambda id: (first.done[id], id))
    job = next(job for job in shop.jobs if job.id == decides)
    matcher = Matcher(shop)
    found: list[_Try] = [*_plates(request, bare), *_bought(request, bare), *_up(bare, first, matcher)]
    if missing:
        found.append(_gone_on(bare))
    for change in changes(shop, made, job, matcher):
        if change.kind != "spool":
            found.append(_of_change(bare, change))
    yield from sorted(found, key=lambda one: DEARNESS.index(one.kind))


def _of_change(bare: _Try, change: Change) -> _Try:
    """A change of the shop with the request in it, as one of the shop without."""
    new = {job.id for job in bare.jobs}
    bought = {spool.id for spool in bare.spools}
    scenario = replace(
        change.scenario,
        jobs=tuple(job for job in change.scenario.jobs if job.id not in new),
        spools=tuple(spool for spool in change.scenario.spools if spool.id not in bought),
    )
    words = change.words
    if change.aside:
        words = f"{change.aside[0]} makes room, done later but within its promise"
    return replace(bare, kind=change.kind, words=words, scenario=scenario, aside=change.aside)


def _plates(request: Request, bare: _Try) -> Iterator[_Try]:
    """Fewer parts on a plate: half of them, and one alone."""
    full = max(job.quantity for job in bare.jobs)
    for most in sorted({-(-full // 2), 1}, reverse=True):
        jobs = request.jobs(most) if most < full else ()
        if len(jobs) > len(bare.jobs):
            words = f"plates of at most {most} {'part' if most == 1 else 'parts'} instead of up to {full}"
            yield replace(bare, kind="plates", words=f"{words}, {len(jobs)} plates", jobs=jobs)


def _bought(request: Request, bare: _Try) -> Iterator[_Try]:
    """Filament that is bought for it, or delivered sooner."""
    usual = USUAL_DAYS if request.ask.buy_days is None else request.ask.buy_days
    there = bool(bare.spools)
    for days in sorted({1, usual}):
        if there and days >= usual:
            continue
        spools = needed_spools(bare.jobs, request.scenario, days, request.order)
        grams: dict[str, float] = {}
        for spool in spools:
            grams[spool.material] = grams.get(spool.material, 0.0) + spool.grams
        what = ", ".join(f"{amount:.0f} g of {material}" for material, amount in sorted(grams.items()))
        when = f"within {days} {'day' if days == 1 else 'days'}"
        yield replace(bare, kind="spool", words=f"{what} bought and delivered {when}", spools=spools)


def _up(bare: _Try, first: Insertion, matcher: Matcher) -> Iterator[_Try]:
    """Machines that fit, without what keeps them out of use."""
    site, clock = bare.scenario.site, Clockwork(bare.scenario.site)
    fits = {printer for id in first.added for printer in matcher.fitting_printers(id)}
    down = [
        (min(off.end for off in printer.downtime if off.end > site.plan_start), printer)
        for printer in bare.scenario.printers
        if printer.id in fits and any(off.end > site.plan_start for off in printer.downtime)
    ]
    for _, printer in sorted(down, key=lambda row: (row[0], row[1].id))[:DOWNTIMES]:
        off = min((one for one in printer.downtime if one.end > site.plan_start), key=lambda one: one.start)
        when = f"{clock.when(max(0, site.minute(off.start)))} to {clock.when(site.minute(off.end))}"
        words = f"{printer.id} without its downtime ({off.reason}, {when})"
        up = replace(printer, downtime=tuple(one for one in printer.downtime if one != off))
        yield replace(bare, kind="downtime", words=words, scenario=with_printer(bare.scenario, up))


def _gone_on(bare: _Try) -> _Try:
    """A later date: after the last shift, people come as in the week before."""
    shifts = bare.scenario.shifts
    last = max(shift.end for shift in shifts)
    pattern: Sequence[Shift] = [shift for shift in shifts if shift.end > last - WEEK]
    again = tuple(
        Shift(shift.start + turn * WEEK, shift.end + turn * WEEK, shift.hands)
        for turn in (1, 2)
        for shift in pattern
    )
    words = "a later date, with two more weeks of shifts like the last one"
    # A shift that reaches back beyond the week would double what is there.
    longer = tuple(replace(shift, start=max(shift.start, last)) for shift in again if shift.end > last)
    return replace(
        bare, kind="later", words=words, scenario=replace(bare.scenario, shifts=(*shifts, *longer))
    )
