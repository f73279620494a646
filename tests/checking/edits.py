"""Small edits of a plan or its shop, each a function from the pair to a changed pair."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

from scheduler.model import Plan, PlannedJob, Scenario
from tests.builders import at

Pair = tuple[Scenario, Plan]
Edit = Callable[[Scenario, Plan], Pair]


def plan(**changes: Any) -> Edit:
    """Change the plan's own fields."""
    return lambda scenario, made: (scenario, replace(made, **changes))


def _job(job: str, change: Callable[[PlannedJob], PlannedJob]) -> Edit:
    def edit(scenario: Scenario, made: Plan) -> Pair:
        assert any(one.job == job for one in made.jobs)
        return scenario, replace(
            made, jobs=tuple(change(one) if one.job == job else one for one in made.jobs)
        )

    return edit


def job(id: str, **changes: Any) -> Edit:
    """Change a planned job's fields."""
    return _job(id, lambda one: replace(one, **changes))


def step(id: str, kind: str, start: int | None = None, end: int | None = None) -> Edit:
    """Give one step of a job another start or end, in minutes."""

    def change(one: PlannedJob) -> PlannedJob:
        return replace(
            one,
            steps=tuple(
                replace(
                    each,
                    start=at(start) if start is not None else each.start,
                    end=at(end) if end is not None else each.end,
                )
                if each.kind == kind
                else each
                for each in one.steps
            ),
        )

    return _job(id, change)


def move(id: str, minutes: int) -> Edit:
    """Shift a job's six steps, and its end."""
    by = timedelta(minutes=minutes)
    return _job(
        id,
        lambda one: replace(
            one,
            done=one.done + by,
            steps=tuple(replace(each, start=each.start + by, end=each.end + by) for each in one.steps),
        ),
    )


def feed(id: str, number: int, **changes: Any) -> Edit:
    """Change a head, nozzle or spool of a planned job."""
    return _job(
        id,
        lambda one: replace(
            one,
            feeds=tuple(
                replace(each, **changes) if at == number else each for at, each in enumerate(one.feeds)
            ),
        ),
    )


def without_job(id: str) -> Edit:
    """Leave a job out of the placed ones."""
    return lambda scenario, made: (
        scenario,
        replace(made, jobs=tuple(one for one in made.jobs if one.job != id)),
    )


def run(kind: str, id: str, **changes: Any) -> Edit:
    """Change a dryer or oven run; instants in minutes."""
    told = {name: at(value) if name in ("start", "end") else value for name, value in changes.items()}
    name = f"{kind}_runs"

    def edit(scenario: Scenario, made: Plan) -> Pair:
        runs = getattr(made, name)
        assert any(one.id == id for one in runs)
        return scenario, replace(
            made, **{name: tuple(replace(one, **told) if one.id == id else one for one in runs)}
        )

    return edit


def without_run(kind: str, id: str) -> Edit:
    """Leave a run out."""
    name = f"{kind}_runs"
    return lambda scenario, made: (
        scenario,
        replace(made, **{name: tuple(one for one in getattr(made, name) if one.id != id)}),
    )


def another_run(kind: str, like: str, **changes: Any) -> Edit:
    """Add a run like one that is there."""
    told = {name: at(value) if name in ("start", "end") else value for name, value in changes.items()}
    name = f"{kind}_runs"

    def edit(scenario: Scenario, made: Plan) -> Pair:
        runs = getattr(made, name)
        one = next(each for each in runs if each.id == like)
        return scenario, replace(made, **{name: (*runs, replace(one, **told))})

    return edit


def thing(key: str, id: str, **changes: Any) -> Edit:
    """Change a thing of the shop."""

    def edit(scenario: Scenario, made: Plan) -> Pair:
        things = getattr(scenario, key)
        assert any(one.id == id for one in things)
        changed = tuple(replace(one, **changes) if one.id == id else one for one in things)
        return replace(scenario, **{key: changed}), made

    return edit


def site(**changes: Any) -> Edit:
    """Change the shop's figures."""
    return lambda scenario, made: (replace(scenario, site=replace(scenario.site, **changes)), made)


def both(*edits: Edit) -> Edit:
    """One edit after the other."""

    def edit(scenario: Scenario, made: Plan) -> Pair:
        for each in edits:
            scenario, made = each(scenario, made)
        return scenario, made

    return edit
