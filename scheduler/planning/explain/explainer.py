"""Why a job is done when it is done: the chain of waits and steps that a plan gives it.

The chain is read back from the plan alone. From the changeover it goes backwards: whatever ended
last among the things that the job needed (the printer, each spool, its drying, a delivery) is what
it waited for; what is left up to the changeover is told by the people: nobody there, everybody
busy, or no rule at all.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import datetime

from scheduler.model import Job, Plan, PlannedJob, Scenario
from scheduler.planning.explain.index import PlanIndex
from scheduler.planning.explain.pieces import AVOIDABLE, Piece
from scheduler.planning.explain.refusals import refusal
from scheduler.planning.explain.steps import OwnSteps
from scheduler.planning.explain.waits import Waits
from scheduler.planning.explain.words import Clockwork, lasts, sentence

#: A second cause is worth naming from so many minutes on, or from this part of the first.
SECOND_CAUSE_MIN = 60
SECOND_CAUSE_PART = 0.25


@dataclass(frozen=True, slots=True)
class Link:
    """One link of a chain: what filled ``[start, end)``, and how many minutes that is."""

    kind: str
    text: str
    minutes: int
    start: datetime | None
    end: datetime | None


@dataclass(frozen=True, slots=True)
class Explanation:
    """One plain sentence, and the chain behind it in order of time."""

    summary: str
    links: tuple[Link, ...]


class Explainer:
    """Explains the jobs of one plan; reads the plan once.

    Parameters
    ----------
    scenario : Scenario
        The one that the plan was made for. Where it has changed since, a job that the change touches
        is explained in one sentence.
    """

    def __init__(self, scenario: Scenario, plan: Plan) -> None:
        self._index = PlanIndex(scenario, plan)
        self._clock = Clockwork(scenario.site)
        self._waits = Waits(self._index, self._clock)
        self._steps = OwnSteps(self._index, self._clock, self._waits)
        self._forced: defaultdict[str, list[str]] = defaultdict(list)
        for forced in plan.forced:
            self._forced[forced.job].append(forced.text)

    def why(self, job_id: str) -> Explanation:
        """The explanation of one job.

        Raises
        ------
        KeyError
            If the scenario has no such job.
        """
        job = self._index.jobs.get(job_id)
        if job is None:
            raise KeyError(job_id)
        planned = self._index.planned.get(job_id)
        if planned is not None:
            gone = self._index.missing(planned)
            if gone is not None:
                return Explanation(
                    f"{self._verdict(job, planned)}. The plan is older than the shop: {gone}.", ()
                )
            return self._placed(job, planned)
        unplaced = self._index.unplaced.get(job_id)
        if unplaced is not None:
            summary, lines = refusal(unplaced)
            return Explanation(summary, tuple(Link("refused", line, 0, None, None) for line in lines))
        return Explanation("Not in this plan: it was added later. Plan again to give it a place.", ())

    # ---- placed jobs ------------------------------------------------------------------------

    def _placed(self, job: Job, planned: PlannedJob) -> Explanation:
        index = self._index
        released = index.site.minute(job.release)
        begins = index.stays[job.id].start
        since = min(max(0, released), begins)
        pieces: list[Piece] = []
        if begins >= 0:  # begun work waits for nothing that this plan could tell
            if since > 0:
                phrase = f"it is released only {self._clock.when(released)}"
                pieces.append(Piece("release", 0, since, phrase, "release"))
            pieces += self._waits.before_changeover(job, since)
        pieces += self._steps.pieces(job, planned)
        links = [self._link(piece) for piece in _joined(pieces)]
        for text in self._forced.get(job.id, []):
            told = f"It was under way already and can't keep a rule: {text}"
            links.append(Link("forced", told, 0, None, None))
        return Explanation(self._summary(job, planned, pieces), tuple(links))

    def _link(self, piece: Piece) -> Link:
        site = self._index.site
        text = sentence(piece.phrase, starts_with_name=piece.named)
        return Link(piece.kind, text, piece.minutes, site.instant(piece.start), site.instant(piece.end))

    def _verdict(self, job: Job, planned: PlannedJob) -> str:
        done = self._index.site.minute(planned.done)
        if job.due is None:
            return f"Done {self._clock.when(done)}, with no due date"
        slack = self._index.site.minute(job.due) - done
        if slack < 0:
            return f"{lasts(-slack)} late"
        if slack == 0:
            return f"On time to the minute: done {self._clock.when(done)}"
        return f"On time: done {self._clock.when(done)}, {lasts(slack)} before it is due"

    def _summary(self, job: Job, planned: PlannedJob, pieces: list[Piece]) -> str:
        verdict = self._verdict(job, planned)
        done = self._index.site.minute(planned.done)
        due = None if job.due is None else self._index.site.minute(job.due)
        if due is None or done <= due:
            return f"{verdict}."
        causes = _causes(pieces)
        if due < 0:
            causes.insert(0, f"it was due {self._clock.when(due)}, before this plan begins")
        else:
            waited = sum(piece.minutes for piece in pieces if piece.kind in AVOIDABLE)
            if done - waited > due:
                least = self._clock.when(done - waited)
                causes.insert(0, f"even with no wait it would be done only {least}")
        return f"{verdict}: {', and '.join(causes[:2])}."


def _joined(pieces: list[Piece]) -> list[Piece]:
    """The pieces with neighbours that say the same made one."""
    joined: list[Piece] = []
    for piece in pieces:
        if joined and (joined[-1].kind, joined[-1].phrase) == (piece.kind, piece.phrase):
            joined[-1] = replace(joined[-1], end=piece.end)
        else:
            joined.append(piece)
    return joined


def _causes(pieces: list[Piece]) -> list[str]:
    """The phrases of the largest avoidable causes, at most two, the largest first."""
    groups: defaultdict[str, list[Piece]] = defaultdict(list)
    for piece in pieces:
        if piece.kind in AVOIDABLE:
            groups[piece.cause].append(piece)
    sized = sorted(groups.values(), key=lambda group: -sum(piece.minutes for piece in group))
    told: list[str] = []
    largest = sum(piece.minutes for piece in sized[0]) if sized else 0
    for group in sized[:2]:
        minutes = sum(piece.minutes for piece in group)
        if told and minutes < min(SECOND_CAUSE_MIN, SECOND_CAUSE_PART * largest):
            break
        # A machine's last job says until when it is taken; of several nights the longest counts.
        says = group[-1] if group[0].kind == "machine" else max(group, key=lambda piece: piece.minutes)
        told.append(says.phrase)
    return told


def why(scenario: Scenario, plan: Plan, job_id: str) -> Explanation:
    """The explanation of one job; for several use one :class:`Explainer`."""
    return Explainer(scenario, plan).why(job_id)
