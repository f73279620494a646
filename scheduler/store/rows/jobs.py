"""Jobs as rows, and back."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Row

from scheduler.model import Feed, FeedChoice, Job, Pin, Progress, Step
from scheduler.store.rows.batch import Batch, grouped, rows_of, tags_by
from scheduler.store.rows.concept import Concept
from scheduler.store.tables import (
    FeedCertRow,
    FeedNozzleRow,
    FeedRow,
    JobQualificationRow,
    JobRow,
    ProgressFeedRow,
    ProgressStepRow,
)


def _write(batch: Batch, job: Job, position: int) -> None:
    x, y, z = job.size_mm
    batch.add(
        JobRow,
        id=job.id,
        position=position,
        order=job.order,
        part=job.part,
        quantity=job.quantity,
        print_min=job.print_min,
        size_x_mm=x,
        size_y_mm=y,
        size_z_mm=z,
        anneal=job.anneal,
        finish_min=job.finish_min,
        release=job.release,
        due=job.due,
        weight=job.weight,
        same_lot_as=job.same_lot_as,
        pinned_printer=job.pinned.printer if job.pinned else None,
        pinned_print_start=job.pinned.print_start if job.pinned else None,
        progress_printer=job.progress.printer if job.progress else None,
    )
    batch.tags(JobQualificationRow, job.needs_qualified, job=job.id)
    for place, feed in enumerate(job.feeds):
        batch.add(FeedRow, job=job.id, position=place, material=feed.material, grams=feed.grams)
        for bore, size_mm in enumerate(feed.nozzle_mm):
            batch.add(FeedNozzleRow, job=job.id, feed=place, position=bore, size_mm=size_mm)
        batch.tags(FeedCertRow, feed.certs, job=job.id, feed=place)
    if job.progress:
        _write_progress(batch, job.id, job.progress)


def _write_progress(batch: Batch, job: str, progress: Progress) -> None:
    for place, choice in enumerate(progress.feeds):
        batch.add(
            ProgressFeedRow,
            job=job,
            position=place,
            head=choice.head,
            nozzle=choice.nozzle,
            spool=choice.spool,
        )
    for place, step in enumerate(progress.steps):
        batch.add(ProgressStepRow, job=job, position=place, kind=step.kind, start=step.start, end=step.end)


def _read(connection: Connection) -> tuple[Job, ...]:
    qualified = tags_by(connection, JobQualificationRow, "job")
    feeds = grouped(connection, FeedRow, "job")
    nozzles = grouped(connection, FeedNozzleRow, "job", "feed")
    certs = tags_by(connection, FeedCertRow, "job", "feed")
    choices = grouped(connection, ProgressFeedRow, "job")
    steps = grouped(connection, ProgressStepRow, "job")

    def feed(row: Row[Any]) -> Feed:
        key = (row.job, row.position)
        return Feed(row.material, row.grams, tuple(n.size_mm for n in nozzles[key]), certs[key])

    def progress(row: Row[Any]) -> Progress | None:
        if row.progress_printer is None:
            return None
        return Progress(
            row.progress_printer,
            tuple(FeedChoice(c.head, c.nozzle, c.spool) for c in choices[row.id]),
            tuple(Step(s.kind, s.start, s.end) for s in steps[row.id]),
        )

    return tuple(
        Job(
            id=row.id,
            order=row.order,
            part=row.part,
            quantity=row.quantity,
            print_min=row.print_min,
            size_mm=(row.size_x_mm, row.size_y_mm, row.size_z_mm),
            needs_qualified=qualified[row.id],
            anneal=row.anneal,
            finish_min=row.finish_min,
            release=row.release,
            due=row.due,
            weight=row.weight,
            same_lot_as=row.same_lot_as,
            pinned=None if row.pinned_printer is None else Pin(row.pinned_printer, row.pinned_print_start),
            feeds=tuple(feed(f) for f in feeds[row.id]),
            progress=progress(row),
        )
        for row in rows_of(connection, JobRow)
    )


JOBS: Concept[Job] = Concept(
    JobRow,
    (
        (JobQualificationRow, "job"),
        (FeedRow, "job"),
        (ProgressFeedRow, "job"),
        (ProgressStepRow, "job"),
    ),
    _write,
    _read,
)
