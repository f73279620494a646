"""A plan looked at from its machines, spools and people, in minutes from the plan's start."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Literal

from scheduler.model import Downtime, DryerRun, OvenRun, Plan, PlannedJob, Scenario
from scheduler.planning.explain.hands import Hands, Task

Minutes = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Stay:
    """A job's hold on a printer and its spools: changeover start to unload end."""

    job: str
    printer: str
    start: int
    changed: int
    cooled: int
    unload: int
    end: int


@dataclass(frozen=True, slots=True)
class Bake:
    """A run of a dryer or an oven; ``what`` are its spools or its jobs."""

    id: str
    machine: str
    kind: Literal["dryer", "oven"]
    temp_c: float
    start: int
    end: int
    what: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Use:
    """A spool's time on a printer for a job, or in a dryer run."""

    start: int
    end: int
    job: str | None
    run: str | None


class PlanIndex:
    """Look-ups over one scenario and one plan for it; made once, read often."""

    def __init__(self, scenario: Scenario, plan: Plan) -> None:
        self.scenario = scenario
        self.plan = plan
        self.site = scenario.site
        self.jobs = {job.id: job for job in scenario.jobs}
        self.printers = {printer.id: printer for printer in scenario.printers}
        self.materials = {material.id: material for material in scenario.materials}
        self.spools = {spool.id: spool for spool in scenario.spools}
        self.dryers = {dryer.id: dryer for dryer in scenario.dryers}
        self.ovens = {oven.id: oven for oven in scenario.ovens}
        self.planned = {planned.job: planned for planned in plan.jobs}
        self.unplaced = {unplaced.job: unplaced for unplaced in plan.unplaced}
        self.stays = {planned.job: self._stay(planned) for planned in plan.jobs}
        self.bakes = {run.id: self._dryer_bake(run) for run in plan.dryer_runs}
        self.oven_bakes = {run.id: self._oven_bake(run) for run in plan.oven_runs}
        self.on_printer = self._by_printer()
        self.in_machine = self._by_machine()
        self.uses = self._by_spool()
        self.hands = Hands(self._shifts(), self._tasks())

    def minute(self, downtime: Downtime) -> Minutes:
        """A downtime in minutes from the plan's start."""
        return self.site.minute(downtime.start), self.site.minute(downtime.end)

    def missing(self, planned: PlannedJob) -> str | None:
        """What the plan needs for a job and the shop no longer has, in words; ``None`` if all is there."""
        if planned.printer not in self.printers:
            return f"printer {planned.printer} is gone"
        for choice in planned.feeds:
            if choice.spool not in self.spools:
                return f"spool {choice.spool} is gone"
        for feed in self.jobs[planned.job].feeds:
            if feed.material not in self.materials:
                return f"material {feed.material} is gone"
        return None

    def previous_stay(self, stay: Stay) -> Stay | None:
        """What held the printer right before."""
        row = self.on_printer[stay.printer]
        place = row.index(stay)
        return row[place - 1] if place else None

    def _stay(self, planned: PlannedJob) -> Stay:
        starts = [self.site.minute(step.start) for step in planned.steps]
        ends = [self.site.minute(step.end) for step in planned.steps]
        return Stay(planned.job, planned.printer, starts[0], ends[0], ends[4], starts[5], ends[5])

    def _dryer_bake(self, run: DryerRun) -> Bake:
        start, end = self.site.minute(run.start), self.site.minute(run.end)
        return Bake(run.id, run.dryer, "dryer", run.setpoint_c, start, end, run.spools)

    def _oven_bake(self, run: OvenRun) -> Bake:
        start, end = self.site.minute(run.start), self.site.minute(run.end)
        return Bake(run.id, run.oven, "oven", run.temp_c, start, end, run.jobs)

    def _by_printer(self) -> dict[str, list[Stay]]:
        rows: defaultdict[str, list[Stay]] = defaultdict(list)
        for stay in self.stays.values():
            rows[stay.printer].append(stay)
        for row in rows.values():
            row.sort(key=lambda stay: stay.start)
        return rows

    def _by_machine(self) -> dict[str, list[Bake]]:
        """Runs by machine: a dryer and an oven of one id are one machine."""
        rows: defaultdict[str, list[Bake]] = defaultdict(list)
        for bake in (*self.bakes.values(), *self.oven_bakes.values()):
            rows[bake.machine].append(bake)
        for row in rows.values():
            row.sort(key=lambda bake: bake.start)
        return rows

    def _by_spool(self) -> dict[str, list[Use]]:
        rows: defaultdict[str, list[Use]] = defaultdict(list)
        for bake in self.bakes.values():
            for spool in bake.what:
                rows[spool].append(Use(bake.start, bake.end, None, bake.id))
        for planned in self.plan.jobs:
            stay = self.stays[planned.job]
            for choice in planned.feeds:
                rows[choice.spool].append(Use(stay.start, stay.end, planned.job, None))
        for row in rows.values():
            row.sort(key=lambda use: use.start)
        return rows

    def _shifts(self) -> list[tuple[int, int, int]]:
        return [
            (self.site.minute(shift.start), self.site.minute(shift.end), shift.hands)
            for shift in self.scenario.shifts
        ]

    def _tasks(self) -> list[Task]:
        """Attended work that begins at or after the plan's start; begun work takes no hands."""
        site, tasks = self.site, []
        for planned in self.plan.jobs:
            for step, words in zip(planned.steps, ATTENDED_WORDS, strict=True):
                start = site.minute(step.start)
                if words and start >= 0:
                    tasks.append(Task(start, site.minute(step.end), f"{words} {planned.job}"))
        for bake in (*self.bakes.values(), *self.oven_bakes.values()):
            load = site.dryer_load_min if bake.kind == "dryer" else site.oven_load_min
            if bake.start >= 0:
                tasks.append(Task(bake.start, min(bake.start + load, bake.end), f"loading {bake.machine}"))
        return tasks


#: What a person does in each printer step, with the job's id behind it; "" where nobody is needed.
ATTENDED_WORDS = ("changeover of", "", "start of", "", "", "unload of")
