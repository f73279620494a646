"""What now, at this machine: which job to pull, why, and why not the others.

Not the plan's order alone decides: a job counts as ready if its spools are there, dry, and within
their open time to the print's end; among the ready ones the one is proposed whose going first leaves
the jobs of the machine least late, nights without hands counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from scheduler.floor.choosing import choices, misfits
from scheduler.floor.on_machine import night_objections
from scheduler.floor.scene import Scene
from scheduler.floor.spool_rules import hard_reasons, soft_reasons
from scheduler.floor.things import Lengths
from scheduler.model import FeedChoice, Job, Printer

#: So many jobs of the machine's plan are looked at, and so many from elsewhere if none of them is ready.
OWN, OTHERS = 10, 6
#: A job is taken from another machine only if it begins so much sooner.
SOONER = timedelta(hours=4)
#: Late hours under which two orders count as equal.
WORTH_H = 0.1
MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A job that this machine could take.

    Parameters
    ----------
    against : tuple of str
        Why it can't go now, in words; empty: ready.
    planned_at : datetime or None
        Its changeover's start in the published plan, if that has it here.
    ends : datetime
        When the print would end if pulled now.
    done : datetime
        When the job would be done if pulled now.
    late_min : int
        By how much that is after its due, minutes.
    note : str
        One line for a person: why this one, or why not.
    """

    job: Job
    feeds: tuple[FeedChoice, ...]
    lengths: Lengths | None
    against: tuple[str, ...]
    planned_at: datetime | None
    ends: datetime
    done: datetime
    free: datetime
    late_min: int
    note: str = ""


@dataclass(frozen=True, slots=True)
class Advice:
    """What to pull at a machine: the first is proposed if it is ready."""

    proposed: Candidate | None
    others: tuple[Candidate, ...]


def what_now(scene: Scene, machine: Printer) -> Advice:
    """The job to pull at a machine now, and the rest with the reason why not."""
    planned = sorted(
        (
            each
            for each in scene.ground.planned.values()
            if each.printer == machine.id and _waits(scene, each.job)
        ),
        key=lambda each: each.steps[0].start,
    )
    own = [_candidate(scene, scene.ground.jobs[each.job], machine) for each in planned[:OWN]]
    if not any(candidate and not candidate.against for candidate in own):
        until = planned[0].steps[0].start if planned else None
        own += _from_elsewhere(scene, machine, until)
    known = [candidate for candidate in own if candidate is not None]
    ready = [candidate for candidate in known if not candidate.against]
    if not ready:
        return Advice(None, tuple(_with_note(each, each.against[0]) for each in known))
    costs = [_cost(scene, first, known) for first in ready]
    best = min(range(len(ready)), key=lambda at: (round(costs[at], 2), at))
    proposed = ready[best]
    more = costs[best] - _cost(scene, None, known)
    if any(_before(each, proposed) for each in known) and more >= WORTH_H:
        wait = f"ready, but better wait: pulled now it makes others {more:.1f} h later"
        return Advice(
            None, tuple(_with_note(each, each.against[0] if each.against else wait) for each in known)
        )
    return Advice(
        _with_note(proposed, _why(scene, proposed, known, ready, costs, best)),
        tuple(_with_note(each, _why_not(each, ready, costs, best)) for each in known if each is not proposed),
    )


def _waits(scene: Scene, job_id: str) -> bool:
    return job_id in scene.ground.jobs and scene.things.job(job_id).state == "waiting"


def _from_elsewhere(scene: Scene, machine: Printer, until: datetime | None) -> list[Candidate | None]:
    """Jobs of other machines, or of none, that could be done here meanwhile; the most urgent first.

    Only what its own machine begins much later, and what is off again before ``until``, when this
    machine's own next job is planned.
    """
    far = datetime.max.replace(tzinfo=scene.now.tzinfo)
    waiting = sorted(
        (
            job
            for job in scene.ground.scenario.jobs
            if _waits(scene, job.id) and _can_wait_no_longer(scene, job, machine)
        ),
        key=lambda job: job.due or far,
    )
    found: list[Candidate | None] = []
    for job in waiting[: 5 * OTHERS]:
        if len(found) == OTHERS:
            break
        if misfits(scene, job, machine):
            continue
        candidate = _candidate(scene, job, machine)
        if candidate is not None and not candidate.against and (until is None or candidate.free <= until):
            found.append(candidate)
    return found


def _can_wait_no_longer(scene: Scene, job: Job, machine: Printer) -> bool:
    """Whether taking a job from where it is planned would be worth it."""
    planned = scene.ground.planned.get(job.id)
    if planned is None:
        return True
    return planned.printer != machine.id and planned.steps[0].start > scene.now + SOONER


def _candidate(scene: Scene, job: Job, machine: Printer) -> Candidate | None:
    wrong = misfits(scene, job, machine)
    feeds = None if wrong else choices(scene, job, machine)
    planned = scene.ground.planned.get(job.id)
    planned_at = planned.steps[0].start if planned is not None and planned.printer == machine.id else None
    if feeds is None or any(choice.spool not in scene.ground.spools for choice in feeds):
        why = tuple(wrong) or (f"no spool of {job.feeds[0].material} can be had",)
        return Candidate(job, (), None, why, planned_at, scene.now, scene.now, scene.now, 0)
    lengths = scene.ground.lengths(job, scene.things.printer(machine.id), feeds, scene.now)
    against: list[str] = []
    if job.release > scene.now:
        against.append(f"not to begin before {scene.clock(job.release)}")
    to_end = lengths.changeover_min + lengths.preheat_min + lengths.start_min + lengths.print_min
    for feed, choice in enumerate(feeds):
        spool = scene.things.spool(choice.spool)
        against += hard_reasons(scene, job, feed, spool, machine.id)
        against += soft_reasons(scene, job, feed, spool, machine, choice.head, to_end)
    hot = to_end - lengths.changeover_min + lengths.cooldown_min
    against += night_objections(scene, job, machine, scene.now, (lengths.changeover_min, hot))
    ends = scene.now + to_end * MINUTE
    free = _staffed(scene, ends + lengths.cooldown_min * MINUTE, lengths.unload_min)
    return _timed(scene, job, feeds, lengths, tuple(against), planned_at, ends, free)


def _timed(
    scene: Scene,
    job: Job,
    feeds: tuple[FeedChoice, ...],
    lengths: Lengths,
    against: tuple[str, ...],
    planned_at: datetime | None,
    ends: datetime,
    free: datetime,
) -> Candidate:
    baked = 0.0
    anneal = scene.ground.materials[job.feeds[0].material].anneal
    if job.anneal and anneal is not None:
        baked = anneal.hours * 60
    done = free + (baked + job.finish_min) * MINUTE
    late = 0 if job.due is None else max(0, (done - job.due) // MINUTE)
    return Candidate(job, feeds, lengths, against, planned_at, ends, done, free, late)


def _staffed(scene: Scene, at: datetime, minutes: int) -> datetime:
    """The end of the first staffed stretch of so many minutes that begins at ``at`` or later."""
    for shift in sorted(scene.ground.scenario.shifts, key=lambda each: each.start):
        if shift.hands > 0 and shift.end - max(shift.start, at) >= minutes * MINUTE:
            return max(shift.start, at) + minutes * MINUTE
    return at + minutes * MINUTE


def _cost(scene: Scene, first: Candidate | None, known: Sequence[Candidate]) -> float:
    """Weighted late hours of the machine's jobs if ``first`` goes now and the others as planned after it.

    ``None``: nothing goes now, and all wait for their planned time. What ``first`` overtakes is held
    up until the machine is free again.
    """
    overtaken = [each for each in known if each is not first and _before(each, first)]
    held_up = timedelta(0)
    if first is not None and overtaken:
        earliest = min(each.planned_at for each in overtaken if each.planned_at is not None)
        held_up = max(timedelta(0), first.free - earliest)
    cost = 0.0
    for each in known:
        planned = scene.ground.planned.get(each.job.id)
        if each is first:
            cost += each.job.weight * each.late_min
        elif planned is not None and each.job.due is not None:
            done = planned.done + (held_up if each in overtaken else timedelta(0))
            cost += each.job.weight * max(0, (done - each.job.due) // MINUTE)
    return cost / 60


def _before(candidate: Candidate, first: Candidate | None) -> bool:
    """Whether a candidate is planned here before another."""
    if first is None or candidate.planned_at is None:
        return False
    return first.planned_at is None or candidate.planned_at < first.planned_at


def _with_note(candidate: Candidate, note: str) -> Candidate:
    return replace(candidate, note=note)


def _why(
    scene: Scene,
    proposed: Candidate,
    known: Sequence[Candidate],
    ready: Sequence[Candidate],
    costs: Sequence[float],
    best: int,
) -> str:
    words = []
    ahead = [
        each
        for each in known
        if each is not proposed
        and each.planned_at
        and (not proposed.planned_at or each.planned_at < proposed.planned_at)
    ]
    if proposed.planned_at is None:
        words.append("fits here and is ready; nothing planned here is")
    elif not ahead:
        words.append("next in the plan, and all is ready")
    elif ahead[0].against:
        words.append(f"{ahead[0].job.id} is planned before it but can't go: {ahead[0].against[0]}")
    else:
        words.append(f"before {ahead[0].job.id}, because more would be late the other way round")
    if len(ready) > 1 and proposed.planned_at is not None:
        saved = min(cost for at, cost in enumerate(costs) if at != best) - costs[best]
        if saved >= WORTH_H:
            words.append(f"skipping it costs {saved:.1f} late hours")
    alone = hours_alone(
        scene, proposed.ends - (proposed.lengths.print_min if proposed.lengths else 0) * MINUTE, proposed.ends
    )
    if alone >= 1:
        words.append(f"prints {alone:.0f} h of the night without hands")
    return "; ".join(words)


def hours_alone(scene: Scene, start: datetime, end: datetime) -> float:
    """Hours between two instants in which nobody is there."""
    there, at = 0.0, start
    for shift in sorted(scene.ground.scenario.shifts, key=lambda each: each.start):
        if shift.hands > 0 and shift.end > at and shift.start < end:
            begins, ends = max(shift.start, at), min(shift.end, end)
            there += max(0.0, (ends - begins) / timedelta(hours=1))
            at = max(at, ends)
    return max(0.0, (end - start) / timedelta(hours=1) - there)


def _why_not(candidate: Candidate, ready: Sequence[Candidate], costs: Sequence[float], best: int) -> str:
    if candidate.against:
        return candidate.against[0]
    more = costs[ready.index(candidate)] - costs[best]
    if more >= WORTH_H:
        return f"ready, but {more:.1f} late hours more if it goes first"
    return "ready, but later in the plan"
