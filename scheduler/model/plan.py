"""What the planner answers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.model.common import DryerRun, FeedChoice, OvenRun, Step

PLAN_SCHEMA = "soakline.plan/1"

#: A figure in a reason: a number with the unit told by the check, words, or nothing to compare.
Figure = float | int | str | None


@dataclass(frozen=True, slots=True)
class Reason:
    """One failed check: where, the figure asked for, the figure there, and both in a sentence."""

    check: str
    printer: str | None
    head: str | None
    nozzle: str | None
    asked: Figure
    there: Figure
    text: str


@dataclass(frozen=True, slots=True)
class PlannedJob:
    """A job with its machine, its choices and its six printer steps, those begun as given.

    ``late_min`` is ``max(0, done - due)`` in minutes, 0 without a due date.
    """

    job: str
    printer: str
    feeds: tuple[FeedChoice, ...]
    chamber_c: float
    oven_run: str | None
    done: datetime
    late_min: int
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Forced:
    """A rule that the rest of a begun job can't keep, and why."""

    job: str
    rule: str
    text: str


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A job that has no place in the plan, and why."""

    job: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan for one scenario, named by the scenario's hash.

    Parameters
    ----------
    late_cost : float
        Weighted late hours over all jobs that something fits.
    attended_min, preheat_min : int
        Minutes of people, and of preheating, over what had not begun at ``plan_start``.
    lower_bound : float or None
        No valid plan has a smaller ``late_cost``; ``None``: not worked out.
    seconds : float
        Time spent planning.
    """

    scenario_hash: str
    made_at: datetime
    late_cost: float
    attended_min: int
    preheat_min: int
    lower_bound: float | None
    seconds: float
    seed: int
    jobs: tuple[PlannedJob, ...]
    dryer_runs: tuple[DryerRun, ...]
    oven_runs: tuple[OvenRun, ...]
    forced: tuple[Forced, ...]
    unplaced: tuple[Unplaced, ...]
