"""What would save a late job, and what another machine would cost it: each tried, none guessed.

A trial takes the job out of the plan, puts it back at its earliest in the changed shop with every other
job where it is, and then lets the search go on for some rounds, the job's lateness counted several times.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from scheduler.matching import Matcher
from scheduler.model import Job, Plan, Scenario
from scheduler.model.errors import SoaklineError
from scheduler.planning.explain.machines import machine_table
from scheduler.planning.explain.words import lasts
from scheduler.planning.insert import insert
from scheduler.planning.make import make_plan
from scheduler.planning.moves import SAME_MIN
from scheduler.planning.problem import WEEK_MIN
from scheduler.planning.whatif.changes import DEARNESS, Change, changes

#: Rounds of the search in each trial; 0: only put in, nothing else moves.
ROUNDS = 300
#: So many times the job's own lateness counts while it is tried: others make room where that is worth it.
FIRST = 5.0
#: A change that costs the shop so many late hours less is worth telling.
CHEAPER_H = 0.5
#: Other machines tried for one job at most, those that look soonest first.
MOST_MACHINES = 12
#: A tag that no shop has: it ties a job to one machine for a trial.
TIED = "tried here"
#: Checks of a job without a place that something fits.
LEFT_OUT = {"horizon", "stock", "pinned"}
MINUTE = timedelta(minutes=1)


class CannotTry(SoaklineError):
    """A job that can't be moved: it has begun, is pinned, or is not in the shop."""


@dataclass(frozen=True, slots=True)
class Trial:
    """One thing that was tried for a job.

    Attributes
    ----------
    kind, words : str
        As in `Change`; ``printer`` and the printer's id for another machine.
    printer : str or None
        Where the job then is; ``None``: it found no place.
    first_layer, done : datetime or None
    late_min : int
        How late the job then is, minutes.
    won_min : int or None
        How much sooner it is done than in the plan, minutes; ``None`` where one of them has no place.
    late_h, others_late_h : float
        Weighted late hours of the shop then, and of all other jobs alone, by today's due dates.
    moved : int
        Other jobs whose machine changes, or whose first layer or end is more than half an hour away.
    aside : str
        What becomes of the job that makes room, in words; empty where none does.
    """

    kind: str
    words: str
    printer: str | None
    first_layer: datetime | None
    done: datetime | None
    late_min: int
    won_min: int | None
    late_h: float
    others_late_h: float
    moved: int
    aside: str

    @property
    def saves(self) -> bool:
        """True if the job has a place and is on time."""
        return self.done is not None and self.late_min == 0


@dataclass(frozen=True, slots=True)
class Tried:
    """All trials for one job.

    Attributes
    ----------
    today : Trial
        The plan as it stands.
    trials : tuple of Trial
        Of changes: those that save the job first, the cheapest first, then by minutes won. Of machines: by
        the end.
    left : int
        How many were not tried because the time was up.
    seconds : float
        What it took.
    """

    job: str
    today: Trial
    trials: tuple[Trial, ...]
    left: int
    seconds: float

    @property
    def nothing(self) -> Trial | None:
        """The trial with nothing changed, the job only put first."""
        return next((trial for trial in self.trials if trial.kind == "none"), None)

    @property
    def helpful(self) -> tuple[Trial, ...]:
        """Changes that win more than putting the job first does, or save it at a lower cost to the shop."""
        bare = self.nothing
        least = 0 if bare is None or bare.won_min is None else max(0, bare.won_min)
        return tuple(trial for trial in self.trials if trial.kind != "none" and _wins(trial, bare, least))

    @property
    def idle(self) -> tuple[Trial, ...]:
        """Changes that win nothing beside that."""
        helpful = self.helpful
        return tuple(trial for trial in self.trials if trial.kind != "none" and trial not in helpful)


def what_would_save(
    scenario: Scenario,
    plan: Plan,
    job_id: str,
    *,
    rounds: int = ROUNDS,
    limit_s: float | None = None,
    timer: Callable[[], float] = time.monotonic,
) -> Tried:
    """Try each change that may make a job less late.

    Parameters
    ----------
    scenario : Scenario
        The shop of the plan, or that of a later minute.
    limit_s : float or None
        No trial begins after so many seconds, as ``timer`` counts them; without it the answer follows from
        the shop, the plan and the rounds alone.

    Raises
    ------
    CannotTry
        If the job is not in the shop, has begun or is pinned.
    """
    trying = _Trying(scenario, plan, job_id, rounds, limit_s, timer)
    nothing = Change("none", "planned again, this job put in first", scenario)
    matcher = Matcher(scenario)
    asked = [nothing, *changes(scenario, plan, trying.job, matcher)]
    trials, left = trying.all(asked)
    trials.sort(key=lambda trial: (not trial.saves, _rank(trial)))
    return Tried(job_id, trying.today, tuple(trials), left, timer() - trying.began)


def other_machines(
    scenario: Scenario,
    plan: Plan,
    job_id: str,
    *,
    rounds: int = ROUNDS,
    limit_s: float | None = None,
    timer: Callable[[], float] = time.monotonic,
) -> Tried:
    """Try a job on each other printer that fits it; see `what_would_save` for the arguments.

    Of printers that offer the same in a large fleet the ones with the least work are tried.
    """
    trying = _Trying(scenario, plan, job_id, rounds, limit_s, timer)
    rows = machine_table(scenario, Matcher(scenario), job_id)
    fitting = [row.printer for row in rows if row.fits and row.printer != trying.today.printer]
    load = {id: timedelta(0) for id in fitting}
    for planned in plan.jobs:
        if planned.printer in load:
            load[planned.printer] += planned.steps[-1].end - planned.steps[0].start
    fitting.sort(key=lambda id: (load[id], id))
    asked = (Change("printer", id, _tied(scenario, job_id, id)) for id in fitting[:MOST_MACHINES])
    trials, left = trying.all(list(asked))
    trials.sort(key=lambda trial: (trial.done is None, trial.done or scenario.site.plan_start, trial.words))
    left += max(0, len(fitting) - MOST_MACHINES)
    return Tried(job_id, trying.today, tuple(trials), left, timer() - trying.began)


def late_hours(scenario: Scenario, plan: Plan, among: Callable[[str], bool] = lambda job: True) -> float:
    """Weighted late hours by a scenario's due dates; a job left out is done a week after the last shift."""
    jobs = {job.id: job for job in scenario.jobs}
    left_out = max(shift.end for shift in scenario.shifts) + WEEK_MIN * MINUTE
    ends = {planned.job: planned.done for planned in plan.jobs}
    for unplaced in plan.unplaced:
        if {reason.check for reason in unplaced.reasons} <= LEFT_OUT:
            ends[unplaced.job] = left_out
    total = 0.0
    for id, end in ends.items():
        job = jobs.get(id)
        if job is not None and job.due is not None and among(id):
            total += job.weight * max(0, (end - job.due) // MINUTE) / 60.0
    return total


def _wins(trial: Trial, bare: Trial | None, least: int) -> bool:
    """Whether a change brings the job forward, or gives it the place that it has not without."""
    if trial.done is None:
        return False
    if bare is not None and bare.saves and trial.saves and trial.late_h < bare.late_h - CHEAPER_H:
        return True
    if trial.won_min is None:
        return bare is None or bare.done is None or trial.done < bare.done
    return trial.won_min > least


def _rank(trial: Trial) -> tuple[int, int]:
    if trial.saves:
        return DEARNESS.index(trial.kind), -(trial.won_min or 0)
    return -(trial.won_min or 0), DEARNESS.index(trial.kind)


def _tied(scenario: Scenario, job_id: str, printer: str) -> Scenario:
    """The shop with the job tied to one printer, by a qualification that no other has."""
    return replace(
        scenario,
        jobs=tuple(
            replace(job, needs_qualified=(*job.needs_qualified, TIED)) if job.id == job_id else job
            for job in scenario.jobs
        ),
        printers=tuple(
            replace(one, qualified=(*one.qualified, TIED)) if one.id == printer else one
            for one in scenario.printers
        ),
    )


class _Trying:
    """The trials of one job."""

    def __init__(
        self,
        scenario: Scenario,
        plan: Plan,
        job_id: str,
        rounds: int,
        limit_s: float | None,
        timer: Callable[[], float],
    ) -> None:
        self.began = timer()
        self.timer, self.limit_s, self.rounds = timer, limit_s, rounds
        self.scenario, self.plan = scenario, plan
        found = next((job for job in scenario.jobs if job.id == job_id), None)
        if found is None:
            raise CannotTry(f"there is no job {job_id} in this shop")
        if found.progress is not None:
            raise CannotTry(f"job {job_id} has begun on {found.progress.printer}; begun work is never moved")
        if found.pinned is not None:
            raise CannotTry(
                f"job {job_id} is pinned to {found.pinned.printer}; take its pin off to try others"
            )
        self.job = found
        self.today = self._trial(Change("none", "as planned", scenario), plan)

    def all(self, asked: Iterable[Change]) -> tuple[list[Trial], int]:
        """A trial for each change as far as the time goes, and how many were left."""
        trials: list[Trial] = []
        left = 0
        for change in asked:
            if self.limit_s is not None and trials and self.timer() - self.began > self.limit_s:
                left += 1
                continue
            trials.append(self._trial(change, self._try(change)))
        return trials, left

    def _try(self, change: Change) -> Plan:
        found = [self._put_in(change)]
        if not change.aside and change.kind != "printer":
            # A shop that only has more still allows the plan as it stands.
            found.append(self.plan)
        best = min(found, key=self._worth)
        if self.rounds <= 0:
            return best
        shop = change.scenario
        searched = make_plan(
            replace(shop, jobs=tuple(self._counted(job, change) for job in shop.jobs)),
            scenario_hash=self.plan.scenario_hash,
            made_at=shop.site.plan_start,
            previous=best,
            rounds=self.rounds,
            chains=1,
        )
        return min((best, searched), key=self._worth)

    def _put_in(self, change: Change) -> Plan:
        """The plan with the job at its earliest, behind nobody who makes room."""
        id, shop = self.job.id, change.scenario
        job = next(one for one in shop.jobs if one.id == id)
        rest = replace(shop, jobs=tuple(one for one in shop.jobs if one.id != id))
        ahead = replace(self.plan, jobs=tuple(one for one in self.plan.jobs if one.job != id))
        inserted = insert(rest, ahead, [job], aside=change.aside)
        return inserted.plan(self.plan.scenario_hash, shop.site.plan_start)

    def _counted(self, job: Job, change: Change) -> Job:
        """A job as the search shall see it: who makes room has a later promise and is never late."""
        if job.id == self.job.id:
            return replace(job, weight=FIRST * job.weight)
        return replace(job, due=None) if job.id in change.aside else job

    def _worth(self, plan: Plan) -> float:
        """Late hours, the job's own counted several times; the smaller the better."""
        own = late_hours(self.scenario, plan, lambda job: job == self.job.id)
        if all(one.job != self.job.id for one in plan.jobs):
            own += WEEK_MIN
        return late_hours(self.scenario, plan) + (FIRST - 1) * own

    def _late_min(self, done: datetime | None) -> int:
        if done is None:
            done = max(shift.end for shift in self.scenario.shifts) + WEEK_MIN * MINUTE
        return 0 if self.job.due is None else max(0, (done - self.job.due) // MINUTE)

    def _trial(self, change: Change, plan: Plan) -> Trial:
        id = self.job.id
        now = next((one for one in plan.jobs if one.job == id), None)
        was = next((one for one in self.plan.jobs if one.job == id), None)
        done = None if now is None else now.done
        won = None if was is None or done is None else (was.done - done) // MINUTE
        return Trial(
            kind=change.kind,
            words=change.words,
            printer=None if now is None else now.printer,
            first_layer=None if now is None else now.steps[2].start,
            done=done,
            late_min=self._late_min(done),
            won_min=won,
            late_h=late_hours(self.scenario, plan),
            others_late_h=late_hours(self.scenario, plan, lambda job: job != id),
            moved=self._moved(plan),
            aside=self._aside(change, plan),
        )

    def _moved(self, plan: Plan) -> int:
        before = {one.job: one for one in self.plan.jobs}
        after = {one.job: one for one in plan.jobs}
        moved = 0
        for job in self.scenario.jobs:
            if job.id == self.job.id:
                continue
            was, now = before.get(job.id), after.get(job.id)
            if was is None or now is None:
                moved += was is not now
                continue
            apart = max(abs(now.steps[2].start - was.steps[2].start), abs(now.done - was.done))
            moved += was.printer != now.printer or apart > SAME_MIN * MINUTE
        return moved

    def _aside(self, change: Change, plan: Plan) -> str:
        jobs = {job.id: job for job in self.scenario.jobs}
        ends = {one.job: one.done for one in plan.jobs}
        told = []
        for id in change.aside:
            due, done = jobs[id].due, ends.get(id)
            if done is None:
                told.append(f"{id} finds no place")
            elif due is None or done <= due:
                told.append(f"{id} still in time")
            else:
                told.append(f"{id} {lasts((done - due) // MINUTE)} after its present promise")
        return ", ".join(told)
