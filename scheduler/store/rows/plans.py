"""Plans as rows, and back."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Row

from scheduler.model import (
    DryerRun,
    FeedChoice,
    Figure,
    Forced,
    OvenRun,
    Plan,
    PlannedJob,
    Reason,
    Step,
    Unplaced,
)
from scheduler.store.rows.batch import Batch, grouped, rows_of, table
from scheduler.store.tables import (
    Base,
    PlanDryerRunRow,
    PlanDryerRunSpoolRow,
    PlanForcedRow,
    PlannedFeedRow,
    PlannedJobRow,
    PlannedStepRow,
    PlanOvenRunJobRow,
    PlanOvenRunRow,
    PlanReasonRow,
    PlanUnplacedRow,
)


def write_content(batch: Batch, number: int, plan: Plan) -> None:
    """Add the rows of everything that a plan lists; its own row with its figures is not among them."""
    for position, job in enumerate(plan.jobs):
        _write_job(batch, {"plan": number, "position": position}, job)
    for position, drying in enumerate(plan.dryer_runs):
        key = {"plan": number, "position": position}
        batch.add(
            PlanDryerRunRow,
            **key,
            id=drying.id,
            dryer=drying.dryer,
            setpoint_c=drying.setpoint_c,
            start=drying.start,
            end=drying.end,
        )
        for place, spool in enumerate(drying.spools):
            batch.add(PlanDryerRunSpoolRow, **key, place=place, spool=spool)
    for position, annealing in enumerate(plan.oven_runs):
        key = {"plan": number, "position": position}
        batch.add(
            PlanOvenRunRow,
            **key,
            id=annealing.id,
            oven=annealing.oven,
            temp_c=annealing.temp_c,
            start=annealing.start,
            end=annealing.end,
        )
        for place, name in enumerate(annealing.jobs):
            batch.add(PlanOvenRunJobRow, **key, place=place, job=name)
    for position, forced in enumerate(plan.forced):
        batch.add(
            PlanForcedRow,
            plan=number,
            position=position,
            job=forced.job,
            rule=forced.rule,
            text=forced.text,
        )
    for position, unplaced in enumerate(plan.unplaced):
        _write_unplaced(batch, {"plan": number, "position": position}, unplaced)


def _write_job(batch: Batch, key: dict[str, int], job: PlannedJob) -> None:
    batch.add(
        PlannedJobRow,
        **key,
        job=job.job,
        printer=job.printer,
        chamber_c=job.chamber_c,
        oven_run=job.oven_run,
        done=job.done,
        late_min=job.late_min,
    )
    for place, choice in enumerate(job.feeds):
        batch.add(
            PlannedFeedRow,
            **key,
            feed=place,
            head=choice.head,
            nozzle=choice.nozzle,
            spool=choice.spool,
        )
    for place, step in enumerate(job.steps):
        batch.add(PlannedStepRow, **key, step=place, kind=step.kind, start=step.start, end=step.end)


def _write_unplaced(batch: Batch, key: dict[str, int], unplaced: Unplaced) -> None:
    batch.add(PlanUnplacedRow, **key, job=unplaced.job)
    for place, reason in enumerate(unplaced.reasons):
        batch.add(
            PlanReasonRow,
            **key,
            place=place,
            check=reason.check,
            printer=reason.printer,
            head=reason.head,
            nozzle=reason.nozzle,
            **_figure_columns("asked", reason.asked),
            **_figure_columns("there", reason.there),
            text=reason.text,
        )


def _figure_columns(name: str, figure: Figure) -> dict[str, Figure]:
    return {
        f"{name}_number": figure if isinstance(figure, float) else None,
        f"{name}_whole": figure if isinstance(figure, int) else None,
        f"{name}_words": figure if isinstance(figure, str) else None,
    }


def _figure(number: float | None, whole: int | None, words: str | None) -> Figure:
    if number is not None:
        return number
    return whole if whole is not None else words


def read_content(connection: Connection, number: int) -> dict[str, Any]:
    """Everything that a plan lists, by the names of the plan's fields."""

    def parts(row_class: type[Base], order: str) -> Any:
        mine = (table(row_class).c.plan == number,)
        return grouped(connection, row_class, "position", where=mine, order=order)

    def rows(row_class: type[Base]) -> Any:
        return rows_of(connection, row_class, table(row_class).c.plan == number)

    feeds, steps = parts(PlannedFeedRow, "feed"), parts(PlannedStepRow, "step")
    spools, annealed = parts(PlanDryerRunSpoolRow, "place"), parts(PlanOvenRunJobRow, "place")
    reasons = parts(PlanReasonRow, "place")
    return {
        "jobs": tuple(
            PlannedJob(
                job=row.job,
                printer=row.printer,
                feeds=tuple(FeedChoice(f.head, f.nozzle, f.spool) for f in feeds[row.position]),
                chamber_c=row.chamber_c,
                oven_run=row.oven_run,
                done=row.done,
                late_min=row.late_min,
                steps=tuple(Step(s.kind, s.start, s.end) for s in steps[row.position]),
            )
            for row in rows(PlannedJobRow)
        ),
        "dryer_runs": tuple(
            DryerRun(r.id, r.dryer, r.setpoint_c, r.start, r.end, tuple(s.spool for s in spools[r.position]))
            for r in rows(PlanDryerRunRow)
        ),
        "oven_runs": tuple(
            OvenRun(r.id, r.oven, r.temp_c, r.start, r.end, tuple(j.job for j in annealed[r.position]))
            for r in rows(PlanOvenRunRow)
        ),
        "forced": tuple(Forced(f.job, f.rule, f.text) for f in rows(PlanForcedRow)),
        "unplaced": tuple(
            Unplaced(u.job, tuple(_reason(r) for r in reasons[u.position])) for u in rows(PlanUnplacedRow)
        ),
    }


def _reason(row: Row[Any]) -> Reason:
    return Reason(
        check=row.check,
        printer=row.printer,
        head=row.head,
        nozzle=row.nozzle,
        asked=_figure(row.asked_number, row.asked_whole, row.asked_words),
        there=_figure(row.there_number, row.there_whole, row.there_words),
        text=row.text,
    )
