"""Three ways to go for one request, each from a plan that keeps every rule."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from functools import cached_property
from types import MappingProxyType
from typing import Literal
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from scheduler.matching.staffing import staffed_stretches
from scheduler.model import Job, Plan, PlannedJob, Scenario, Shift, Spool
from scheduler.planning.explain import Explainer, Link
from scheduler.planning.explain.pieces import AVOIDABLE
from scheduler.planning.insert import Insertion, insert
from scheduler.planning.moves import SAME_MIN
from scheduler.planning.tighten import tighten
from scheduler.quoting.forecast import Forecast, forecast, quantile
from scheduler.quoting.price import Price, PriceSheet, price
from scheduler.quoting.variation import Variation

WayName = Literal["as planned", "sooner", "later"]
WAY_NAMES: tuple[WayName, ...] = ("as planned", "sooner", "later")

#: A way counts as sooner from so many minutes on.
SOONER_MIN = 30
#: Overtime is tried for so long, minutes, after so many of the last stretches with people before the date;
#: and a call-out for so long as the last print has cooled.
OVERTIME_MIN = 120
OVERTIME_TRIES = 3
CALL_OUT_MIN = 60
#: So many jobs with slack are tried as those that make room, one at a time.
ROOM_TRIES = 6
#: Dots of the plot of a date's chances.
DOTS = 50
#: The chances by which dates are promised.
CHANCES = (0.5, 0.8, 0.95)


@dataclass(frozen=True)
class Way:
    """One way: when, how surely, at what price, and what it takes.

    Parameters
    ----------
    takes : tuple of str
        What somebody must do or accept for it, in sentences.
    planned_for : datetime
        When the plan has everything done.
    by : tuple of datetime
        Done by then with 50, 80 and 95 %, as `CHANCES`, as far as past promises bear that out; never
        before ``planned_for``.
    dots : tuple of datetime
        Fifty finishes, each as likely as the next, in order.
    shifts : tuple of Shift
        Overtime that this way needs.
    made_room : tuple of str
        Jobs that are done later for it, all within their promise.
    bought : tuple of str
        Spools that are to be bought for it.
    read_at : tuple of float
        At which chance of what was drawn ``by`` was read, as `CHANCES`; see `kept.levels`.
    """

    name: WayName
    insertion: Insertion
    plan: Plan
    takes: tuple[str, ...]
    planned_for: datetime
    by: tuple[datetime, ...]
    dots: tuple[datetime, ...]
    price: Price
    shifts: tuple[Shift, ...] = ()
    made_room: tuple[str, ...] = ()
    bought: tuple[str, ...] = ()
    read_at: tuple[float, ...] = CHANCES

    @property
    def jobs(self) -> tuple[PlannedJob, ...]:
        """The request's jobs as planned."""
        new = set(self.insertion.added)
        return tuple(job for job in self.plan.jobs if job.job in new)

    def promise(self, chance: float) -> datetime:
        """The date promised with one of `CHANCES`."""
        return self.by[CHANCES.index(chance)]

    def level(self, chance: float) -> float:
        """The chance of what was drawn at which that date was read."""
        return self.read_at[CHANCES.index(chance)]

    def last_job(self) -> str:
        """The job that is done last, and so decides the date."""
        return max(self.jobs, key=lambda job: (job.done, job.job)).job

    def chain(self) -> tuple[Link, ...]:
        """What the last job waits for and does, in order."""
        return self._explainer.why(self.last_job()).links

    def bottleneck(self) -> str:
        """What the date waits for longest, in a sentence."""
        left = {job.job for job in self.jobs}
        job: str | None = self.last_job()
        found = None
        # A plate that waits for another of the request has the same reason as that one.
        while job is not None:
            left.discard(job)
            wait = _longest_wait(self._explainer.why(job).links)
            if wait is None:
                break
            found = wait
            job = next((one for one in sorted(left, key=len, reverse=True) if one in wait[0]), None)
        if found is None:
            return "Nothing holds it up: drying, heat, print and cool-down alone make the date."
        return f"{found[0]} ({found[1] / 60:.1f} h of waiting)."

    @cached_property
    def _explainer(self) -> Explainer:
        return Explainer(self.insertion.scenario, self.plan)


def _longest_wait(links: Sequence[Link]) -> tuple[str, int] | None:
    """The kind of wait that takes longest in all: what it is, and its minutes; ``None`` if nothing waits."""
    waits: dict[str, int] = {}
    text: dict[str, str] = {}
    for link in links:
        if link.kind in AVOIDABLE and link.minutes > 0:
            waits[link.kind] = waits.get(link.kind, 0) + link.minutes
            if link.minutes >= waits[link.kind] / 2:
                text[link.kind] = link.text
    if not waits:
        return None
    kind = max(waits, key=lambda one: waits[one])
    return text[kind].rstrip("."), waits[kind]


@dataclass(frozen=True)
class Answer:
    """All ways that were found, the planned one first; none if no place was found."""

    ways: tuple[Way, ...]
    unplaced: Insertion | None = None

    def way(self, name: str) -> Way | None:
        """The way of that name."""
        return next((way for way in self.ways if way.name == name), None)


def answer(
    scenario: Scenario,
    plan: Plan,
    jobs: Sequence[Job],
    spools: Sequence[Spool],
    sheet: PriceSheet,
    variation: Variation,
    *,
    seed: int = 1,
    replications: int = 200,
    only: WayName | None = None,
    matched: bool = True,
    limits: Mapping[str, datetime] = MappingProxyType({}),
) -> Answer:
    """Work out the ways of a request.

    Parameters
    ----------
    only : WayName or None
        Just this way, the planned one at least; ``None``: all.
    matched, limits
        As `insert` takes them.
    """
    soon = insert(scenario, plan, jobs, spools=spools, matched=matched, limits=limits)
    soon = tighten(soon)
    if not soon.whole:
        return Answer((), soon)
    buying = tuple(
        f"{spool.grams:.0f} g of {spool.material} are bought, delivered by {spool.available_from:%Y-%m-%d}."
        for spool in spools
    )

    def told(
        name: WayName,
        found: Insertion,
        takes: tuple[str, ...] = (),
        factor: Decimal = Decimal(1),
        shifts: tuple[Shift, ...] = (),
        made_room: tuple[str, ...] = (),
    ) -> Way:
        made = found.plan("", scenario.site.plan_start)
        finishes = _finishes(found, made, variation, seed, replications)
        site = scenario.site
        least = found.date
        dots = tuple(
            max(least, site.instant(quantile(finishes, (number + 0.5) / DOTS))) for number in range(DOTS)
        )
        read_at = tuple(variation.level(chance) for chance in CHANCES)
        by = tuple(max(least, site.instant(quantile(finishes, level))) for level in read_at)
        over = sum(int((shift.end - shift.start).total_seconds()) // 60 * shift.hands for shift in shifts)
        cost = price(sheet, found.scenario, made, found.added, factor=factor, overtime_min=over)
        ids = tuple(spool.id for spool in spools)
        return Way(
            name, found, made, (*takes, *buying), least, by, dots, cost, shifts, made_room, ids, read_at
        )

    moved = _moved(plan, soon)
    takes: tuple[str, ...] = ()
    if moved == 1:
        takes = ("1 other job moves by more than half an hour for it, not beyond its promise.",)
    elif moved:
        takes = (f"{moved} other jobs move by more than half an hour for it, none beyond its promise.",)
    ways = [told("as planned", soon, takes)]
    if only in (None, "sooner"):
        sooner = _sooner(scenario, plan, jobs, spools, soon, sheet, matched, limits)
        if sooner is not None:
            ways.append(told("sooner", *sooner))
    if only in (None, "later") and sheet.patient_days:
        later = _later(scenario, plan, jobs, spools, sheet, matched, limits)
        if later is not None:
            way = told("later", *later)
            if way.price.cents < ways[0].price.cents and way.planned_for > ways[0].planned_for:
                ways.append(way)
    return Answer(tuple(ways))


_Found = tuple[Insertion, tuple[str, ...], Decimal, tuple[Shift, ...], tuple[str, ...]]


def _sooner(
    scenario: Scenario,
    plan: Plan,
    jobs: Sequence[Job],
    spools: Sequence[Spool],
    soon: Insertion,
    sheet: PriceSheet,
    matched: bool,
    limits: Mapping[str, datetime],
) -> _Found | None:
    """The earliest of overtime and of one job that makes room."""
    best: _Found | None = None
    least = soon.date - timedelta(minutes=SOONER_MIN)
    for shift in _overtimes(scenario, soon):
        longer = replace(scenario, shifts=(*scenario.shifts, shift))
        found = insert(longer, plan, jobs, spools=spools, matched=matched, limits=limits)
        if found.whole and found.date <= least:
            minutes = int((shift.end - shift.start).total_seconds()) // 60
            local = shift.start.astimezone(ZoneInfo(scenario.site.timezone))
            takes = (f"One person works {minutes} min of overtime from {local:%a %H:%M}.",)
            best, least = (found, takes, Decimal(1), (shift,), ()), found.date - timedelta(minutes=1)
    for other in _with_slack(scenario, plan, soon):
        found = insert(
            scenario, plan, jobs, spools=spools, aside=(other.job,), matched=matched, limits=limits
        )
        j = found.task.names.jobs[other.job]
        if found.whole and found.date <= least and found.state.printer[j] >= 0:
            done = scenario.site.instant(found.state.done[j])
            later = max(0, int((done - other.done).total_seconds()) // 60)
            takes = (f"Job {other.job} makes room: done {later / 60:.1f} h later, still within its promise.",)
            best = (found, takes, sheet.rush_factor, (), (other.job,))
            least = found.date - timedelta(minutes=1)
    return best


def _later(
    scenario: Scenario,
    plan: Plan,
    jobs: Sequence[Job],
    spools: Sequence[Spool],
    sheet: PriceSheet,
    matched: bool,
    limits: Mapping[str, datetime],
) -> _Found | None:
    """Work begins some days later, so that the next days stay free for others."""
    wait = timedelta(days=sheet.patient_days)
    patient = [replace(job, release=job.release + wait) for job in jobs]
    found = insert(scenario, plan, patient, spools=spools, matched=matched, limits=limits)
    if not found.whole:
        return None
    takes = (
        f"The customer gives the shop {sheet.patient_days} days: the next days stay free for other work.",
    )
    return found, takes, sheet.patient_factor, (), ()


def _moved(plan: Plan, found: Insertion) -> int:
    """How many jobs of the plan go to another machine, or begin printing more than half an hour off."""
    names, site = found.task.names, found.scenario.site
    count = 0
    for planned in plan.jobs:
        j = names.jobs[planned.job]
        begin = site.minute(planned.steps[2].start)
        off = abs(found.state.begin[j] - begin) > SAME_MIN
        count += off or found.state.printer[j] != names.printers[planned.printer]
    return count


def _overtimes(scenario: Scenario, soon: Insertion) -> list[Shift]:
    """Somebody comes as the last print has cooled, or one person stays longer on one of the last evenings."""
    site = scenario.site
    made = []
    last = max(soon.done, key=lambda id: soon.done[id])
    cold = soon.state.cool_end[soon.task.names.jobs[last]]
    stretches = staffed_stretches(scenario)
    if not any(start <= cold < end for start, end in stretches):
        made.append(Shift(site.instant(cold), site.instant(cold + CALL_OUT_MIN), 1))
    by = site.minute(soon.date)
    ends = [number for number, (_, end) in enumerate(stretches) if end < by]
    for number in reversed(ends[-OVERTIME_TRIES:]):
        end = stretches[number][1]
        begins_next = stretches[number + 1][0] if number + 1 < len(stretches) else end + 24 * 60
        length = min(OVERTIME_MIN, begins_next - end)
        if length >= SOONER_MIN:
            made.append(Shift(site.instant(end), site.instant(end + length), 1))
    return made


def _with_slack(scenario: Scenario, plan: Plan, soon: Insertion) -> list[PlannedJob]:
    """Jobs that could make room: not begun, not pinned, on a machine that fits, most slack first."""
    asked = {job.id: job for job in scenario.jobs}
    fits = {printer for id in soon.added for printer in soon.task.matcher.fitting_printers(id)}
    frozen = scenario.site.plan_start + timedelta(minutes=scenario.site.freeze_min)
    found = []
    for planned in plan.jobs:
        job = asked.get(planned.job)
        if job is None or job.progress is not None or job.pinned is not None:
            continue
        tied = job.same_lot_as is not None or any(o.same_lot_as == job.id for o in scenario.jobs)
        if tied or planned.printer not in fits or planned.steps[0].start < frozen:
            continue
        slack = timedelta(days=30) if job.due is None else job.due - planned.done
        if slack > timedelta(hours=1) and planned.steps[0].start < soon.date:
            found.append((-slack, planned.steps[0].start, planned.job, planned))
    return [row[-1] for row in sorted(found, key=lambda row: row[:3])[:ROOM_TRIES]]


def _finishes(
    found: Insertion, plan: Plan, variation: Variation, seed: int, replications: int
) -> NDArray[np.int64]:
    carried: Forecast = forecast(found.scenario, plan, variation, replications=replications, seed=seed)
    return carried.finishes(found.added)
