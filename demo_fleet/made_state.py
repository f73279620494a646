"""What is going on in a made-up shop at 06:00: jobs, dryer runs and an oven run begun, and what is fixed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from demo_fleet.begun import Stage, begin, lengths
from demo_fleet.calendar import local_instant, working_day
from demo_fleet.dice import Dice
from demo_fleet.made_stock import Shelf
from demo_fleet.materials import BY_ID
from demo_fleet.sizes import Size
from scheduler.matching import Assignment, Matcher
from scheduler.model import (
    Dryer,
    DryerRun,
    DryingRow,
    FeedChoice,
    Job,
    OvenRun,
    Pin,
    Printer,
    Scenario,
    Spool,
    UnderWay,
)  # fmt: skip
from scheduler.physics import whole_minutes

#: Stages that leave their printer occupied take one printer each.
_FIRST_STAGES: tuple[Stage, ...] = (
    "finished",
    "preheat",
    "changeover",
    "start",
    "unload",
    "cooldown",
    "print",
)
#: Plates that wait for an oven came off on Saturday: before whatever is on their printer now was begun.
WAITING_MIN = 2450
IMPOSSIBLE_KINDS = ("volume", "spool", "chamber", "qualification")


class State:
    """Turns a shop at rest into one in the middle of its work, job by job."""

    def __init__(
        self, size: Size, resting: Scenario, shelf: Shelf, first: date, dice: Dice, kept: frozenset[str]
    ) -> None:
        self._size, self._resting, self._shelf, self._first, self._dice = size, resting, shelf, first, dice
        self._zone = ZoneInfo(resting.site.timezone)
        self._matcher = Matcher(resting)
        self._jobs = {job.id: job for job in resting.jobs}
        self._printers = {printer.id: printer for printer in resting.printers}
        self._names = list(self._jobs)
        self._kept = kept | {
            name for job in resting.jobs if job.same_lot_as is not None for name in (job.id, job.same_lot_as)
        }
        #: Printers with work under way, those whose finished job waits for an oven, and those pinned to.
        self._busy: set[str] = set()
        self._past: set[str] = set()
        self._pinned: set[str] = set()
        self._taken: set[str] = set()

    def scenario(self) -> Scenario:
        """The shop with everything that the size asks for under way, pinned, impossible and short."""
        oven_runs = self._anneal()
        self._begin_all()
        dryer_runs = self._dry()
        self._pin()
        self._make_impossible()
        self._make_short()
        return replace(
            self._resting,
            printers=tuple(self._printers.values()),
            spools=tuple(self._shelf.spools),
            jobs=tuple(self._jobs.values()),
            under_way=UnderWay(dryer_runs, oven_runs),
        )

    def _free_jobs(self) -> Iterator[Job]:
        """Jobs with nothing special about them, from a random one on."""
        first = self._dice.whole(0, len(self._names) - 1)
        for name in (*self._names[first:], *self._names[:first]):
            if name not in self._taken and name not in self._kept:
                yield self._jobs[name]

    def _seats(self, job: Job, busy: set[str]) -> Iterator[tuple[Printer, Assignment]]:
        """Printers that fit ``job`` and are not ``busy``, from a random one on, with the first assignment."""
        fitting = self._matcher.fitting_printers(job.id)
        first = self._dice.whole(0, max(0, len(fitting) - 1))
        for name in (*fitting[first:], *fitting[:first]):
            if name not in busy:
                yield self._printers[name], self._matcher.assignments(job.id, name)[0]

    def _put(
        self,
        job: Job,
        printer: Printer,
        seat: Assignment,
        stage: Stage,
        into_min: int,
        gap_min: int,
        spent: bool,
    ) -> None:
        """Begins ``job`` with spools of its own, ``spent`` with their open time over."""
        choices = []
        for feed, at in zip(job.feeds, seat.feeds, strict=True):
            limit = BY_ID[feed.material].open_time_min
            exposed = 0 if limit is None else limit + 30 if spent else 15
            grams = feed.grams + 5 * self._dice.whole(20, 60)
            spool = self._shelf.add(
                feed.material, self._shelf.new_lot(), grams, "metal", feed.certs, exposed_min=exposed
            )
            choices.append(FeedChoice(at.head, at.nozzle, spool.id))
        self._jobs[job.id], self._printers[printer.id] = begin(
            self._resting.site, job, printer, tuple(choices), BY_ID, stage, into_min, gap_min
        )
        self._taken.add(job.id)
        (self._past if stage == "finished" else self._busy).add(printer.id)

    def _into(self, stage: Stage, job: Job, printer: Printer) -> int:
        """Minutes since the stage began, at random among those that go with it."""
        each = lengths(self._resting.site, job, printer, BY_ID)
        if stage == "finished":
            return self._dice.whole(WAITING_MIN, WAITING_MIN + 300)
        if stage == "print":
            return self._dice.whole(min(480, each.print // 2), each.print - 1)
        return self._dice.whole(1, max(1, each.of(stage) - 1))

    def _begin_all(self) -> None:
        wanted = [(stage, False) for stage in _FIRST_STAGES for _ in range(self._size.begun.get(stage, 0))]
        wanted[self._size.begun.get("finished", 0) : 0] = [("print", True)] * self._size.spent
        for stage, spent in wanted:
            self._begin_one(stage, spent)

    def _begin_one(self, stage: Stage, spent: bool) -> None:
        for job in self._free_jobs():
            material = BY_ID[job.feeds[0].material]
            if (stage == "finished" and material.anneal is None) or (
                spent and material.open_time_min is None
            ):
                continue
            for printer, seat in self._seats(job, self._past if stage == "finished" else self._busy):
                if not printer.unattended and stage not in ("finished", "changeover", "cooldown", "unload"):
                    continue
                if stage == "finished":
                    job = replace(job, anneal=True)
                gap = self._dice.whole(0, 200) if stage == "preheat" else 0
                self._put(job, printer, seat, stage, self._into(stage, job, printer), gap, spent)
                return

    def _anneal(self) -> tuple[OvenRun, ...]:
        """Begun oven runs of printed jobs, one job or more in each."""
        start, ovens = self._resting.site.plan_start, list(self._resting.ovens)
        runs: list[OvenRun] = []
        left = self._size.in_oven
        while left > 0 and ovens:
            oven = ovens.pop(0)
            loaded: list[Job] = []
            for job in self._free_jobs():
                material = BY_ID[job.feeds[0].material]
                if (
                    material.anneal is None
                    or material.anneal.temp_c > oven.max_c
                    or len(loaded) >= min(left, 2)
                ):
                    continue
                if loaded and BY_ID[loaded[0].feeds[0].material].anneal != material.anneal:
                    continue
                seat = next(self._seats(job, self._past), None)
                if seat is None:
                    continue
                into_min = self._into("finished", job, seat[0])
                self._put(replace(job, anneal=True), *seat, "finished", into_min, 0, False)
                loaded.append(job)
            if not loaded:
                break
            left -= len(loaded)
            anneal = BY_ID[loaded[0].feeds[0].material].anneal
            assert anneal is not None
            minutes = whole_minutes(anneal.hours * 60)
            since = self._dice.whole(30, minutes - 10)
            runs.append(
                OvenRun(
                    f"begun-oven-{len(runs) + 1}", oven.id, anneal.temp_c, start - timedelta(minutes=since),
                    start + timedelta(minutes=minutes - since), tuple(job.id for job in loaded),
                )
            )  # fmt: skip
        return tuple(runs)

    def _dry(self) -> tuple[DryerRun, ...]:
        """Begun dryer runs, one dryer of every kind in turn."""
        shared = {oven.id for oven in self._resting.ovens}
        kinds: dict[str, list[Dryer]] = {}
        for dryer in self._resting.dryers:
            if dryer.id not in shared:
                kinds.setdefault(dryer.id.rpartition("-")[0], []).append(dryer)
        turns = range(max(map(len, kinds.values())))
        in_turn = [group[turn] for turn in turns for group in kinds.values() if turn < len(group)]
        resting = {spool.id for spool in self._resting.spools}
        wet = [
            spool
            for spool in self._dice.shuffled(self._shelf.spools)
            if spool.id in resting and not spool.dried
        ]
        wet = [spool for spool in wet if spool.available_from <= self._resting.site.plan_start]
        runs: list[DryerRun] = []
        for dryer in in_turn[: self._size.dryer_runs]:
            runs += self._load(dryer, wet, len(runs))
        return tuple(runs)

    def _rows(self, dryer: Dryer, spool: Spool) -> list[DryingRow]:
        return [
            row
            for row in spool.drying or BY_ID[spool.material].drying
            if row.temp_c <= min(dryer.max_c, spool.body_max_c)
            and (dryer.fixed_c is None or dryer.fixed_c == row.temp_c)
            and (dryer.vacuum or not row.vacuum)
        ]

    def _load(self, dryer: Dryer, wet: list[Spool], before: int) -> list[DryerRun]:
        """Begun runs of one dryer; takes the spools in it off the list ``wet``."""
        lead = next((spool for spool in wet if self._rows(dryer, spool)), None)
        if lead is None:
            return []
        setpoint = self._dice.pick(self._rows(dryer, lead)).temp_c
        hours: dict[str, float] = {}
        for spool in list(wet):
            rows = [row.hours for row in self._rows(dryer, spool) if row.temp_c == setpoint]
            if rows and len(hours) < min(3, dryer.slots):
                hours[spool.id] = min(rows)
                wet.remove(spool)
        rolling = dryer.kind == "rolling"
        loads = [{name: needed} for name, needed in hours.items()] if rolling else [hours]
        return [
            self._dryer_run(dryer, setpoint, load, f"begun-{before + number}")
            for number, load in enumerate(loads, 1)
        ]

    def _dryer_run(self, dryer: Dryer, setpoint: float, load: dict[str, float], name: str) -> DryerRun:
        start = self._resting.site.plan_start
        minutes = dryer.warmup_min + whole_minutes(max(load.values()) * 60)
        since = self._dice.whole(10, minutes - 10)
        begun = start - timedelta(minutes=since)
        return DryerRun(name, dryer.id, setpoint, begun, begun + timedelta(minutes=minutes), tuple(load))

    def _pin(self) -> None:
        """Holds jobs to a printer and an hour that they can keep: begun work is over by then."""
        left = self._size.pinned
        for job in self._free_jobs():
            if left == 0:
                return
            day = working_day(self._first, self._dice.whole(2, 4))
            at_hour = local_instant(self._zone, day, self._dice.whole(8, 12), 15 * self._dice.whole(0, 3))
            for printer, seat in self._seats(job, self._pinned):
                if not self._can_hold(job, printer, seat, at_hour):
                    continue
                release = self._resting.site.plan_start
                self._jobs[job.id] = replace(job, pinned=Pin(printer.id, at_hour), release=release)
                self._taken.add(job.id)
                self._pinned.add(printer.id)
                left -= 1
                break

    def _can_hold(self, job: Job, printer: Printer, seat: Assignment, at_hour: datetime) -> bool:
        """True if ``printer`` may run at night, no stop is near, and no spool grows wet while it prints."""
        by_head = {head.id: head for head in printer.heads}
        stays_dry = all(
            BY_ID[feed.material].open_time_min is None or by_head[at.head].dry_feed
            for feed, at in zip(job.feeds, seat.feeds, strict=True)
        )
        each = lengths(self._resting.site, job, printer, BY_ID)
        earliest = at_hour - timedelta(minutes=each.changeover + each.preheat + each.start + 60)
        latest = at_hour + timedelta(minutes=each.print + each.cooldown)
        stopped = any(stop.start < latest and earliest < stop.end for stop in printer.downtime)
        return printer.unattended and stays_dry and not stopped

    def _make_impossible(self) -> None:
        """Asks of some jobs what no machine, shelf or window offers, one kind after the other."""
        for number, job in zip(range(self._size.impossible), self._free_jobs(), strict=False):
            kind = IMPOSSIBLE_KINDS[number % len(IMPOSSIBLE_KINDS)]
            lead = job.feeds[0]
            if kind == "volume":
                asked = replace(job, size_mm=(900.0, 700.0, 650.0))
            elif kind == "spool":
                asked = replace(job, feeds=(replace(lead, certs=("customer-stamp",)), *job.feeds[1:]))
            elif kind == "chamber":
                hot = replace(lead, material="PEI", nozzle_mm=(0.4, 0.6), certs=())
                cool = replace(lead, material="SUP", nozzle_mm=(0.4, 0.6), certs=(), grams=20.0)
                asked = replace(job, feeds=(hot, cool), anneal=False)
            else:
                asked = replace(job, needs_qualified=("nuclear",))
            self._jobs[job.id] = asked
            self._taken.add(job.id)

    def _make_short(self) -> None:
        """Pairs of jobs that must share a tested spool too small for both; the second can wait for ever."""
        for number in range(1, self._size.short + 1):
            free = self._free_jobs()
            first, second = next(free, None), next(free, None)
            if first is None or second is None:
                return
            certs = (f"tested-lot-{number}",)
            lead = replace(first.feeds[0], certs=certs)
            twin = replace(first, id=second.id, order=second.order, due=None)
            self._jobs[first.id] = replace(first, feeds=(lead, *first.feeds[1:]))
            self._jobs[second.id] = replace(twin, feeds=(lead, *first.feeds[1:]))
            self._shelf.add(
                lead.material, self._shelf.new_lot(), lead.grams * 1.5, "metal", certs, exposed_min=0
            )
            self._taken |= {first.id, second.id}
