"""A plan laid out on paper: every instant a minute, every job beside its machine and materials."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

from scheduler.model import Downtime, Head, Job, Material, Plan, PlannedJob, Printer, Scenario, Spool

CHANGEOVER, PREHEAT, START, PRINT, COOLDOWN, UNLOAD = range(6)


@dataclass(frozen=True)
class Found:
    """A rule, everybody who may be named for breaking it, and the jobs that share the blame."""

    rule: str
    who: frozenset[str]
    jobs: frozenset[str] = frozenset()


@dataclass
class Row:
    """A placed job: six pairs of minutes, of which the first ``begun`` are given."""

    job: Job
    planned: PlannedJob
    printer: Printer
    heads: list[Head]
    spools: list[Spool]
    materials: list[Material]
    steps: list[tuple[int, int]]
    begun: int

    @property
    def first(self) -> int:
        return self.steps[CHANGEOVER][0]

    @property
    def last(self) -> int:
        return self.steps[UNLOAD][1]

    @property
    def new(self) -> bool:
        return self.begun == 0

    def minutes(self, step: int) -> range:
        return range(*self.steps[step])

    def bound(self, step: int) -> bool:
        """Whether it follows a begun step without a gap, so that nobody can put it off."""
        if self.begun == START + 1:
            return step in (PRINT, COOLDOWN)
        return self.begun == PRINT + 1 and step == COOLDOWN


@dataclass
class Run:
    """A dryer or oven run in minutes."""

    kind: str
    given: Any
    machine: Any
    start: int
    end: int
    begun: bool

    @property
    def who(self) -> str:
        return f"{self.kind} run {self.given.id}"


@dataclass
class Paper:
    """Everything, and what was found."""

    scenario: Scenario
    plan: Plan
    rows: list[Row] = field(default_factory=list)
    dryings: list[Run] = field(default_factory=list)
    bakes: list[Run] = field(default_factory=list)
    hands: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    found: list[Found] = field(default_factory=list)

    def breach(self, rule: str, who: str | list[str], *jobs: str) -> None:
        names = [who] if isinstance(who, str) else who
        self.found.append(Found(rule, frozenset(names), frozenset(jobs)))

    def row(self, job_id: str | None) -> Row | None:
        return next((row for row in self.rows if row.job.id == job_id), None)

    def material(self, material_id: str) -> Material:
        return next(m for m in self.scenario.materials if m.id == material_id)

    def spool(self, spool_id: str) -> Spool:
        return next(s for s in self.scenario.spools if s.id == spool_id)

    def down(self, machine_downtime: tuple[Downtime, ...]) -> set[int]:
        minute = self.scenario.site.minute
        return {t for d in machine_downtime for t in range(minute(d.start), minute(d.end))}


def lay_out(scenario: Scenario, plan: Plan) -> Paper:
    """Join the two."""
    paper, minute = Paper(scenario, plan), scenario.site.minute
    for shift in scenario.shifts:
        for t in range(minute(shift.start), minute(shift.end)):
            paper.hands[t] += shift.hands
    for planned in plan.jobs:
        job = next(j for j in scenario.jobs if j.id == planned.job)
        printer = next(p for p in scenario.printers if p.id == planned.printer)
        heads = [next(h for h in printer.heads if h.id == choice.head) for choice in planned.feeds]
        paper.rows.append(
            Row(
                job,
                planned,
                printer,
                heads,
                [paper.spool(choice.spool) for choice in planned.feeds],
                [paper.material(feed.material) for feed in job.feeds],
                [(minute(step.start), minute(step.end)) for step in planned.steps],
                0 if job.progress is None else len(job.progress.steps),
            )
        )
    begun = scenario.under_way
    old = {run.id for run in begun.dryer_runs}
    there = {run.id for run in plan.dryer_runs}
    for run in [*plan.dryer_runs, *(run for run in begun.dryer_runs if run.id not in there)]:
        dryer = next(d for d in scenario.dryers if d.id == run.dryer)
        paper.dryings.append(Run("dryer", run, dryer, minute(run.start), minute(run.end), run.id in old))
    old = {bake.id for bake in begun.oven_runs}
    there = {bake.id for bake in plan.oven_runs}
    for bake in [*plan.oven_runs, *(bake for bake in begun.oven_runs if bake.id not in there)]:
        oven = next(o for o in scenario.ovens if o.id == bake.oven)
        paper.bakes.append(Run("oven", bake, oven, minute(bake.start), minute(bake.end), bake.id in old))
    return paper
