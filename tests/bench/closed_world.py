"""A made-up shop that lives minute by minute, to try promises on.

Nothing here is taken from the forecast: chambers warm and cool by a difference equation, print times
scatter by a gamma distribution, machines break by a hazard in each printing minute, people call in sick
by the day, and whoever has a hand free begins whatever is next on a machine's list. It keeps its own
books, and shows them to the planner as a scenario.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from scheduler.model import (
    FeedChoice,
    Job,
    Material,
    Mounted,
    Plan,
    Printer,
    Progress,
    Scenario,
    Shift,
    Site,
    Span,
    Spool,
    Step,
    StepKind,
    UnderWay,
)
from scheduler.quoting.records import PrintRecord
from tests.builders import a_feed, a_head, a_job, a_material, a_printer, a_site

BEGIN = datetime(2031, 3, 3, tzinfo=UTC)
DAY = 24 * 60
#: Early and late shift, Monday to Friday, and Saturday morning: first and last hour, people.
WEEKDAYS = ((6, 14, 2), (14, 22, 2))
SATURDAY = ((7, 13, 1),)
PRINTERS = 3
MATERIALS = (
    a_material("ABS", chamber_c=Span(50.0, 80.0), chamber_set_c=70.0, release_c=45.0),
    a_material("PC", chamber_c=Span(70.0, 100.0), chamber_set_c=90.0, release_c=50.0, soak_min=20),
)
#: Weeks of shifts that the planner is told.
AHEAD_DAYS = 28


@dataclass(frozen=True)
class Nature:
    """How the shop really is; no forecast sees it.

    ``bias`` multiplies all print times, ``scatter`` is the coefficient of variation from print to print
    and ``odd`` that of machines with materials; ``failing`` is by material, ``broken_h`` the printing
    hours between breakdowns, ``sick`` the chance of each person each day, ``urgent`` the plates a week that
    the owner brings and that go before all others.
    """

    bias: float = 1.0
    scatter: float = 0.09
    odd: float = 0.03
    failing: tuple[float, ...] = (0.04, 0.07)
    broken_h: float = 900.0
    sick: float = 0.03
    urgent: float = 0.7


@dataclass
class Machine:
    """One printer at work: its job, what it is doing since when, and the steps that it has done."""

    printer: Printer
    chamber_c: float = 20.0
    mounted: Mounted = field(default_factory=lambda: Mounted(None, None, None))
    job: Job | None = None
    feeds: tuple[FeedChoice, ...] = ()
    doing: str = "idle"
    since: int = 0
    until: int = 0
    fails_at: int | None = None
    failed: bool = False
    soaked: int = 0
    steps: list[tuple[StepKind, int, int]] = field(default_factory=list)
    down_until: int = 0
    told_until: int = 0


class World:
    """The shop from one Monday on; minutes count from there."""

    def __init__(self, seed: int, nature: Nature) -> None:
        self.dice = np.random.default_rng([seed, 77])
        self.nature = nature
        names = [f"P{number}" for number in range(1, PRINTERS + 1)]
        self.machines = {
            name: Machine(a_printer(name, chamber_max_c=100.0, free_at=BEGIN, heads=(a_head(),)))
            for name in names
        }
        self.odd = {
            (name, material.id): float(np.exp(self.dice.normal(0, nature.odd)))
            for name in names
            for material in MATERIALS
        }
        self.now = 0
        self.waiting: dict[str, Job] = {}
        self.done: dict[str, int] = {}
        #: Prints that ended, each with its job: what was planned, and what it took.
        self.records: list[tuple[str, PrintRecord]] = []
        #: Minutes that a job's print program says, where it is planned otherwise.
        self.estimates: dict[str, int] = {}
        self.plan: Plan | None = None
        self.lists: dict[str, list[tuple[int, str]]] = {}
        self.upset = False
        self._people: dict[int, list[int]] = {}

    # What the planner is shown

    def instant(self, minute: int) -> datetime:
        return BEGIN + timedelta(minutes=minute)

    def scenario(self, extra: tuple[Job, ...] = ()) -> Scenario:
        """The shop as its books have it now."""
        begun = [self._begun(machine) for machine in self.machines.values() if machine.job is not None]
        spools = [
            Spool(f"{m.id}-{name}", m.id, "L1", 1e6, 200.0, (), BEGIN, True, 0, None)
            for m in MATERIALS
            for name in self.machines
        ]
        return Scenario(
            self._site(),
            tuple(self._shifts()),
            MATERIALS,
            tuple(self._printer(machine) for machine in self.machines.values()),
            (),
            (),
            tuple(spools),
            (*begun, *self.waiting.values(), *extra),
            UnderWay((), ()),
        )

    def _site(self) -> Site:
        return a_site(plan_start=self.instant(self.now), dry_storage=True)

    def _printer(self, machine: Machine) -> Printer:
        return replace(
            machine.printer,
            chamber_now_c=round(machine.chamber_c, 3),
            free_at=self.instant(max(machine.told_until, 0)),
            heads=(replace(machine.printer.heads[0], mounted=machine.mounted),),
        )

    def _shifts(self) -> list[Shift]:
        shifts = []
        for day in range(self.now // DAY, self.now // DAY + AHEAD_DAYS):
            for first, last, hands in _hours(day):
                start, end = day * DAY + first * 60, day * DAY + last * 60
                if end > self.now:
                    shifts.append(Shift(self.instant(start), self.instant(end), hands))
        return shifts

    def _begun(self, machine: Machine) -> Job:
        """The job of a machine with what has begun of it, its running step until when the books expect."""
        assert machine.job is not None
        steps = list(machine.steps)
        if machine.doing in ("changeover", "preheat", "start", "print", "cooldown", "unload"):
            expected = max(machine.since + self._expected(machine), self.now + self._overdue(machine))
            kind: StepKind = machine.doing  # type: ignore[assignment]  # one of the six, as asked above
            steps.append((kind, machine.since, expected))
        given = tuple(Step(k, self.instant(s), self.instant(e)) for k, s, e in steps if s < self.now)
        if not given:
            return replace(machine.job, progress=None)
        return replace(machine.job, progress=Progress(machine.printer.id, machine.feeds, given))

    def _expected(self, machine: Machine) -> int:
        """Minutes that a step is expected to take."""
        assert machine.job is not None
        if machine.doing == "print":
            return machine.job.print_min
        if machine.doing in ("preheat", "cooldown"):
            return 45
        return machine.until - machine.since

    def _overdue(self, machine: Machine) -> int:
        """Minutes that what takes longer than expected is given still."""
        if machine.doing == "print":
            assert machine.job is not None
            return max(5, machine.job.print_min // 20)
        return 5 if machine.doing in ("preheat", "cooldown") else 0

    # What happens

    def publish(self, plan: Plan) -> None:
        """From now on machines follow this plan's lists."""
        self.plan = plan
        self.lists = {name: [] for name in self.machines}
        site = self._site()
        for planned in plan.jobs:
            if planned.job in self.waiting:
                start = self.now + site.minute(planned.steps[0].start)
                self.lists[planned.printer].append((start, planned.job))
        for entries in self.lists.values():
            entries.sort(reverse=True)

    def run(self, until: int, replan: Callable[[], None]) -> None:
        """Live until a minute; ``replan`` is asked for when a print fails and every morning."""
        while self.now < until:
            if self.upset or self.now % DAY == 6 * 60:
                self.upset = False
                replan()
            self._minute()
            self.now += 1
            if 7 * 60 <= self.now % DAY < 19 * 60 and self.dice.random() < self.nature.urgent / (7 * 12 * 60):
                self._urgent()

    def _minute(self) -> None:
        free = self._present() - sum(
            machine.doing in ("changeover", "start", "unload") and machine.until > self.now
            for machine in self.machines.values()
        )
        for machine in self.machines.values():
            self._warm(machine)
            self._end_step(machine)
        # Whoever is free goes to whatever should have been next for longest.
        for machine in sorted(self.machines.values(), key=self._urgency):
            if free > 0 and self._begin_attended(machine):
                free -= 1

    def _urgent(self) -> None:
        number = sum(id.startswith("U") for id in (*self.waiting, *self.done)) + 1
        job = an_order(number, self.dice)
        due = self.instant(self.now + job.print_min + 240)
        name = f"U{number:04d}-{self.now}"
        self.waiting[name] = replace(job, id=name, order=name, weight=50.0, due=due)
        self.upset = True

    def _present(self) -> int:
        day, minute = divmod(self.now, DAY)
        if day not in self._people:
            self._people[day] = [
                int(hands - self.dice.binomial(hands, self.nature.sick)) for _, _, hands in _hours(day)
            ]
        there = zip(_hours(day), self._people[day], strict=True)
        return sum(people for (first, last, _), people in there if first * 60 <= minute < last * 60)

    def _warm(self, machine: Machine) -> None:
        printer, job = machine.printer, machine.job
        heating = job is not None and machine.doing in ("preheat", "hot", "start", "print")
        if heating:
            goal = _material(job).chamber_set_c
            assert printer.chamber_reach_c is not None
            rise = (printer.chamber_reach_c - machine.chamber_c) / printer.heat_tau_min
            machine.chamber_c = min(goal, machine.chamber_c + rise) if machine.chamber_c <= goal else goal
        else:
            machine.chamber_c -= (machine.chamber_c - 20.0) / printer.cool_tau_min

    def _end_step(self, machine: Machine) -> None:
        if machine.job is None:
            return
        material = _material(machine.job)
        if machine.doing == "changeover" and self.now >= machine.until:
            self._turn(machine, "preheat")
            machine.soaked = 0
        elif machine.doing == "preheat":
            plate = self.now - machine.since >= machine.printer.bed_heat_min
            machine.soaked += machine.chamber_c >= material.chamber_set_c - 0.5 and plate
            if machine.soaked > material.soak_min:
                self._turn(machine, "hot", "preheat")
        elif machine.doing == "start" and self.now >= machine.until:
            self._turn(machine, "print")
            self._cast(machine)
        elif machine.doing == "print":
            self._end_print(machine)
        elif machine.doing == "cooldown":
            cold = machine.chamber_c <= material.release_c
            if cold and self.now - machine.since >= machine.printer.bed_cool_min:
                self._turn(machine, "cold", "cooldown")
        elif machine.doing == "unload" and self.now >= machine.until:
            self._unloaded(machine)

    def _turn(self, machine: Machine, doing: str, ended: StepKind | None = None) -> None:
        kind: StepKind = ended or machine.doing  # type: ignore[assignment]  # only the six steps end so
        machine.steps.append((kind, machine.since, self.now))
        machine.doing, machine.since = doing, self.now

    def _cast(self, machine: Machine) -> None:
        """How long the print will really take, and whether it fails."""
        assert machine.job is not None
        nature, job, material = self.nature, machine.job, _material(machine.job)
        shape = 1 / nature.scatter**2
        scatter = self.dice.gamma(shape, 1 / shape)
        estimate = self.estimates.get(job.id, job.print_min)
        real = estimate * nature.bias * self.odd[machine.printer.id, material.id] * scatter
        machine.until = self.now + max(1, round(real))
        machine.fails_at = None
        if self.dice.random() < nature.failing[MATERIALS.index(material)]:
            # First layers fail more often than last ones.
            machine.fails_at = self.now + int(real * self.dice.beta(0.8, 1.6))

    def _end_print(self, machine: Machine) -> None:
        assert machine.job is not None
        broken = self.dice.random() < 1 / (60 * self.nature.broken_h)
        if broken:
            machine.down_until = self.now + int(60 * self.dice.gamma(2.0, 2.0))
            machine.told_until = self.now + 4 * 60
        failed = broken or (machine.fails_at is not None and self.now >= machine.fails_at)
        if not failed and self.now < machine.until:
            return
        name, material = machine.printer.id, machine.job.feeds[0].material
        if not broken:
            took, ended = self.now - machine.since, self.instant(self.now)
            planned_min = machine.job.print_min
            record = PrintRecord(name, material, planned_min, took, failed, ended)
            self.records.append((machine.job.id, record))
        machine.failed = failed
        self._turn(machine, "cooldown")

    def _unloaded(self, machine: Machine) -> None:
        assert machine.job is not None
        if machine.failed:
            self.waiting[machine.job.id] = machine.job
            self.upset = True
        else:
            self.done[machine.job.id] = self.now
        choice = machine.feeds[0]
        machine.mounted = Mounted(choice.spool, machine.job.feeds[0].material, choice.nozzle)
        machine.job, machine.doing, machine.failed, machine.steps = None, "idle", False, []

    def _urgency(self, machine: Machine) -> int:
        if machine.doing in ("hot", "cold"):
            return machine.since
        entries = self.lists.get(machine.printer.id)
        return entries[-1][0] if entries else 1 << 40

    def _begin_attended(self, machine: Machine) -> bool:
        site = self._site()
        if machine.doing == "cold" and self.now >= machine.down_until:
            machine.doing, machine.since, machine.until = "unload", self.now, self.now + site.unload_min
            return True
        if machine.doing == "hot":
            # A held preheat ends when somebody comes.
            kind, start, _ = machine.steps.pop()
            machine.steps.append((kind, start, self.now))
            machine.doing, machine.since, machine.until = "start", self.now, self.now + site.start_min
            return True
        entries = self.lists.get(machine.printer.id)
        if machine.doing != "idle" or not entries or self.now < machine.down_until:
            return False
        assert self.plan is not None
        planned = next(each for each in self.plan.jobs if each.job == entries[-1][1])
        spool = planned.feeds[0].spool
        others = [other for other in self.machines.values() if other is not machine]
        if any(other.job is not None and other.feeds[0].spool == spool for other in others):
            # What runs longer than planned keeps its spool from whoever comes next.
            return False
        for other in others:
            if other.mounted.spool == spool:
                other.mounted = replace(other.mounted, spool=None)
        job = self.waiting.pop(entries.pop()[1])
        machine.job, machine.feeds, machine.steps = job, planned.feeds, []
        machine.doing, machine.since = "changeover", self.now
        machine.until = self.now + site.plate_min
        if machine.mounted.spool != planned.feeds[0].spool:
            machine.until += site.spool_swap_min
            if machine.mounted.material not in (None, job.feeds[0].material):
                machine.until += site.purge_min
        if machine.mounted.nozzle != planned.feeds[0].nozzle:
            machine.until += site.nozzle_swap_min
        return True


def _hours(day: int) -> tuple[tuple[int, int, int], ...]:
    return WEEKDAYS if day % 7 < 5 else SATURDAY if day % 7 == 5 else ()


def _material(job: Job | None) -> Material:
    assert job is not None
    return next(material for material in MATERIALS if material.id == job.feeds[0].material)


def an_order(number: int, dice: np.random.Generator) -> Job:
    """What a customer asks for: one plate."""
    material = MATERIALS[int(dice.random() < 0.4)].id
    minutes = int(np.clip(dice.lognormal(np.log(330), 0.55), 60, 1400))
    return a_job(f"J{number:04d}", print_min=minutes, release=BEGIN, feeds=(a_feed(material),))
