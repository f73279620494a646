"""What hit jobs of a plan directly: two shops compared, one as the plan expected it, one as it is."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from datetime import datetime

from scheduler.model import ATTENDED_STEPS, Job, Plan, PlannedJob, Scenario
from scheduler.planning.advance import advance
from scheduler.planning.explain.hands import Hands
from scheduler.planning.explain.index import PlanIndex
from scheduler.planning.explain.words import Clockwork, lasts
from scheduler.planning.moves.things import Things

#: A begun step that ends so much later or earlier than planned hits its job, minutes.
STRAYS_MIN = 1


@dataclass(frozen=True, slots=True)
class Cause:
    """What made a job move.

    Attributes
    ----------
    kind : str
        ``new``, ``again``, ``gone``, ``longer``, ``shorter``, ``not begun``, ``asked`` (the job itself was
        changed), ``machine``, ``spool``, ``dryer``, ``oven``, ``hands``, ``material``, ``better`` (something
        in the shop became better), ``shop`` or ``search``.
    thing : str
        Id of the machine, spool, material or job; empty where none.
    text : str
        The cause in plain words, as a clause without a full stop.
    """

    kind: str
    thing: str
    text: str


def expected(old: Scenario, old_plan: Plan, new: Scenario) -> Scenario:
    """The old shop at the new one's first minute, had all gone as planned."""
    now = new.site.plan_start
    return old if now <= old.site.plan_start else advance(old, old_plan, now)


def causes(
    old: Scenario,
    old_plan: Plan,
    planned_for: Scenario,
    new: Scenario,
    touched: Collection[str],
) -> dict[str, Cause]:
    """The cause of each touched job that something hit directly; others are left out."""
    finder = _Finder(old, old_plan, planned_for, new)
    found = {}
    for id in sorted(touched):
        cause = finder.cause(id)
        if cause is not None:
            found[id] = cause
    return found


class _Finder:
    def __init__(self, old: Scenario, old_plan: Plan, planned_for: Scenario, new: Scenario) -> None:
        self.new = new
        self.clock = Clockwork(new.site)
        self.before = {planned.job: planned for planned in old_plan.jobs}
        self.old_jobs = {job.id: job for job in old.jobs}
        self.wanted = {job.id: job for job in planned_for.jobs}
        self.jobs = {job.id: job for job in new.jobs}
        self.things = Things(planned_for, old_plan, new, self.clock)
        self.people = _People(old, old_plan, new)
        self.given_up = {
            (job.order, job.part): id
            for id, job in self.wanted.items()
            if id not in self.jobs and (job.progress is not None or self._has_begun(id))
        }

    def cause(self, id: str) -> Cause | None:
        """The first that holds, from the job itself outwards."""
        was, job = self.before.get(id), self.jobs.get(id)
        if job is None:
            return Cause("gone", id, "it was held, given up or taken out of the shop")
        if id not in self.old_jobs:
            return self._new(job)
        looks: tuple[Callable[[Job, PlannedJob], Cause | None], ...] = (
            self._under_way,
            self._asked,
            self._things,
            self._hands,
        )
        if was is None:
            return self._asked(job, None)
        for look in looks:
            cause = look(job, was)
            if cause is not None:
                return cause
        return None

    def _new(self, job: Job) -> Cause:
        failed = self.given_up.get((job.order, job.part))
        if failed is not None:
            return Cause("again", failed, f"{failed} failed, and this job prints it again")
        return Cause("new", job.id, "it is new")

    def _has_begun(self, id: str) -> bool:
        planned = self.before.get(id)
        return planned is not None and planned.steps[0].start < self.new.site.plan_start

    def _under_way(self, job: Job, was: PlannedJob) -> Cause | None:
        """What the floor has done otherwise than planned."""
        had = self.old_jobs[job.id].progress
        if job.progress is None:
            if had is not None:
                return Cause("again", job.id, "its print failed and is done again")
            if self._has_begun(job.id):
                begins = self.clock.when(self.new.site.minute(was.steps[0].start))
                return Cause("not begun", job.id, f"it was to begin {begins} and has not begun")
            return None
        if job.progress.printer != was.printer:
            return Cause("asked", job.id, f"it was begun on {job.progress.printer}, not on {was.printer}")
        for planned, step in zip(was.steps, job.progress.steps, strict=False):
            late = (step.end - planned.end).total_seconds() // 60
            if abs(late) >= STRAYS_MIN:
                how, kind = ("later", "longer") if late > 0 else ("earlier", "shorter")
                words = f"its {step.kind} ends {lasts(int(abs(late)))} {how} than planned"
                return Cause(kind, job.id, words)
        return None

    def _asked(self, job: Job, was: PlannedJob | None) -> Cause | None:
        """What somebody has changed of the job itself."""
        before = self.old_jobs[job.id]
        if job.pinned != before.pinned:
            return Cause("asked", job.id, "it was pinned" if job.pinned else "its pin was taken off")
        if job.print_min != before.print_min:
            more = job.print_min - before.print_min
            kind = "longer" if more > 0 else "shorter"
            words = f"its print takes {lasts(abs(more))} {'more' if more > 0 else 'less'} than it did"
            return Cause(kind, job.id, words)
        for field, words in ASKED_WORDS:
            if getattr(job, field) != getattr(before, field):
                return Cause("asked", job.id, words)
        return None

    def _things(self, job: Job, was: PlannedJob) -> Cause | None:
        hit = self.things.hit(job, was)
        return None if hit is None else Cause(*hit)

    def _hands(self, job: Job, was: PlannedJob) -> Cause | None:
        minute = self.people.short(was, self._alone(was.printer))
        if minute is None:
            return None
        there, had = self.people.now.people(minute), self.people.then.people(minute)
        words = f"{self.clock.when(minute)} there are {there} hands, not {had}"
        return Cause("hands", "", words.replace("are 1 hands", "is 1 hand"))

    def _alone(self, printer: str) -> bool:
        return all(one.unattended for one in self.new.printers if one.id == printer)


#: Fields of a job whose change moves it, and how that is told.
ASKED_WORDS = (
    ("due", "its due date was changed"),
    ("release", "its release was changed"),
    ("weight", "its weight was changed"),
    ("feeds", "its material, grams, nozzles or certificates were changed"),
    ("quantity", "its quantity was changed"),
    ("size_mm", "its size was changed"),
    ("needs_qualified", "the qualification that it needs was changed"),
    ("anneal", "its annealing was changed"),
    ("finish_min", "its finishing work was changed"),
)


class _People:
    """Hands of the old and of the new shop against the attended work of the old plan."""

    def __init__(self, old: Scenario, old_plan: Plan, new: Scenario) -> None:
        site = new.site
        # Both in minutes of the new shop, so that their figures can be compared.
        moved = replace(old, site=replace(old.site, plan_start=site.plan_start))
        self.site = site
        self.then = Hands(_shifts(moved), ())
        self.now = Hands(_shifts(new), ())
        self.work = PlanIndex(moved, old_plan).hands
        self.fewer = _edges(moved, new)

    def short(self, was: PlannedJob, alone: bool) -> int | None:
        """The first minute at which the old place of a job lacks hands that it had; ``None``: none."""
        for minute in self.fewer:
            had, there = self.then.people(minute), self.now.people(minute)
            if there >= had:
                continue
            until = min((edge for edge in self.fewer if edge > minute), default=minute + 1)
            for step in was.steps:
                start, end = self._span(step.start, step.end)
                if max(start, 0) >= end or start >= until or end <= minute:
                    continue
                if step.kind in ATTENDED_STEPS:
                    since = max(start, minute)
                    if len(self.work.busy_with(since, since + 1)) > there:
                        return since
                elif there == 0 and not alone:
                    return max(start, minute)
        return None

    def _span(self, start: datetime, end: datetime) -> tuple[int, int]:
        return self.site.minute(start), self.site.minute(end)


def _shifts(scenario: Scenario) -> list[tuple[int, int, int]]:
    minute = scenario.site.minute
    return [(minute(shift.start), minute(shift.end), shift.hands) for shift in scenario.shifts]


def _edges(*shops: Scenario) -> list[int]:
    """Every minute at which the hands of one of the shops change, the first minute included."""
    edges = {0}
    for shop in shops:
        for start, end, _ in _shifts(shop):
            edges.update(edge for edge in (start, end) if edge > 0)
    return sorted(edges)
