"""What a new plan moves of the one before it, and which event made each job move."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.model import Plan, PlannedJob, Scenario
from scheduler.planning.moves.better import betterings
from scheduler.planning.moves.causes import Cause, causes, expected
from scheduler.planning.moves.chain import Push, traced

#: A first layer, an end or a lateness that differs by no more counts as unmoved, minutes.
SAME_MIN = 30
MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Spot:
    """Where and when a plan has a job; ``late_min`` in minutes."""

    printer: str
    first_layer: datetime
    done: datetime
    late_min: int


@dataclass(frozen=True, slots=True)
class Move:
    """One job that a new plan has elsewhere, at another time, anew or no more.

    Attributes
    ----------
    was, now : Spot or None
        In the old and the new plan; ``None``: without a place, or not there.
    pushes : tuple of Push
        Who pushed it, who pushed that one, and so on; empty where the cause hit the job itself.
    cause : Cause
        What began it all.
    """

    job: str
    was: Spot | None
    now: Spot | None
    pushes: tuple[Push, ...]
    cause: Cause

    @property
    def changes_printer(self) -> bool:
        """True if it has a place in both plans, on different printers."""
        return self.was is not None and self.now is not None and self.was.printer != self.now.printer

    @property
    def first_layer_min(self) -> int:
        """How much later the first layer begins, minutes; negative: earlier; 0 where one plan has none."""
        if self.was is None or self.now is None:
            return 0
        return (self.now.first_layer - self.was.first_layer) // MINUTE

    @property
    def done_min(self) -> int:
        """How much later it is done, minutes; negative: earlier; 0 where one plan has none."""
        if self.was is None or self.now is None:
            return 0
        return (self.now.done - self.was.done) // MINUTE

    @property
    def late_min(self) -> int:
        """How much later beyond its due date, minutes; negative: less late."""
        return (self.now.late_min if self.now else 0) - (self.was.late_min if self.was else 0)

    @property
    def turns_late(self) -> bool:
        return self.now is not None and self.now.late_min > 0 and (self.was is None or not self.was.late_min)

    @property
    def is_saved(self) -> bool:
        """True if it was late and is no more."""
        return (
            self.was is not None and self.was.late_min > 0 and self.now is not None and not self.now.late_min
        )


@dataclass(frozen=True, slots=True)
class Moves:
    """All that moves, the worst first: without a place, then by lateness, then by delay.

    ``kept`` counts the jobs that stand in both plans and do not move, ``gone`` those that were done, or
    nearly, and have left.
    """

    moves: tuple[Move, ...]
    kept: int
    gone: int
    late_h_before: float
    late_h_after: float

    def count(self, which: str) -> int:
        """How many of a kind: "printer", "later", "earlier", "late", "saved", "lost" or "new"."""
        return sum(1 for move in self.moves if _is(move, which))


def _is(move: Move, which: str) -> bool:
    return {
        "printer": move.changes_printer,
        "later": move.done_min > SAME_MIN,
        "earlier": move.done_min < -SAME_MIN,
        "late": move.turns_late,
        "saved": move.is_saved,
        "lost": move.was is not None and move.now is None,
        "new": move.was is None and move.now is not None,
    }[which]


def moves(old: Scenario, old_plan: Plan, new: Scenario, new_plan: Plan) -> Moves:
    """Compare two plans and the shops they were made for.

    Parameters
    ----------
    old, old_plan
        The plan that stood, and its shop.
    new, new_plan
        The plan that takes its place, and its shop: at the same minute or later.

    Returns
    -------
    Moves
        One entry for every job whose machine or lateness changed, whose first layer or end is more than
        half an hour away, or that gained or lost its place; each with its cause.
    """
    planned_for = expected(old, old_plan, new)
    before = {planned.job: planned for planned in old_plan.jobs}
    after = {planned.job: planned for planned in new_plan.jobs}
    known = {job.id for job in new.jobs}
    still = {job.id for job in planned_for.jobs}
    gone = {id for id in before if id not in known and id not in still}
    stood = {id: planned for id, planned in before.items() if id not in gone}
    touched = {id for id in stood.keys() | after.keys() if _differ(stood.get(id), after.get(id))}
    hit = causes(old, old_plan, planned_for, new, touched)
    better = betterings(planned_for, new, new_plan, touched)
    told = traced(old_plan, new, new_plan, touched, hit, better, gone)
    found = []
    for id in touched:
        was, now = stood.get(id), after.get(id)
        if _moves(was, now):
            pushes, cause = told[id]
            found.append(Move(id, _spot(was), _spot(now), pushes, cause))
    found.sort(key=_badness)
    kept = len(stood.keys() & after.keys()) - sum(1 for move in found if move.was and move.now)
    return Moves(tuple(found), kept, len(gone), old_plan.late_cost, new_plan.late_cost)


def _spot(planned: PlannedJob | None) -> Spot | None:
    if planned is None:
        return None
    return Spot(planned.printer, planned.steps[2].start, planned.done, planned.late_min)


def _differ(was: PlannedJob | None, now: PlannedJob | None) -> bool:
    """True if anything that could push another differs."""
    if was is None or now is None:
        return was is not now
    same = (was.printer, was.feeds, was.steps, was.done, was.late_min)
    return same != (now.printer, now.feeds, now.steps, now.done, now.late_min)


def _moves(was: PlannedJob | None, now: PlannedJob | None) -> bool:
    if was is None or now is None:
        return was is not now
    apart = max(
        abs(now.steps[2].start - was.steps[2].start) // MINUTE,
        abs(now.done - was.done) // MINUTE,
        abs(now.late_min - was.late_min),
    )
    return was.printer != now.printer or apart > SAME_MIN or (was.late_min > 0) != (now.late_min > 0)


def _badness(move: Move) -> tuple[bool, bool, int, int, str]:
    return move.now is not None, not move.turns_late, -move.late_min, -move.done_min, move.job
