"""An order line: what a person types to ask for plates of one part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from scheduler.model import Feed, Job
from scheduler.office.local_time import instant_of
from scheduler.store import Order

#: Most plates that one line may ask for.
MOST_PLATES = 500


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One line; it becomes as many jobs as it asks for plates.

    Parameters
    ----------
    job : str
        The line's own name. One plate is a job of this name, several are ``name.1``, ``name.2`` ...
    plates : int
        Plates to print.
    quantity : int
        Parts on each plate.
    print_min, finish_min : int
        Minutes of print at speed factor 1, and of work after the last step.
    size_mm : tuple of float
        x, y, z of the whole plate's content, mm.
    customer, note, confidential : optional
        Of the order; ``None`` leaves what is recorded.
    release, due : datetime or None
        A naive time is local to the shop. No release: as it is recorded, else at once.
    """

    job: str
    order: str
    part: str
    print_min: int
    size_mm: tuple[float, float, float]
    feeds: tuple[Feed, ...]
    customer: str | None = None
    note: str | None = None
    confidential: bool | None = None
    plates: int = 1
    quantity: int = 1
    needs_qualified: tuple[str, ...] = ()
    anneal: bool = False
    finish_min: int = 0
    release: datetime | None = None
    due: datetime | None = None
    weight: float = 1.0
    same_lot_as: str | None = None

    @property
    def job_ids(self) -> tuple[str, ...]:
        """The ids of its jobs."""
        if self.plates == 1:
            return (self.job,)
        return tuple(f"{self.job}.{plate}" for plate in range(1, self.plates + 1))


class BadTime(ValueError):
    """A local time of a line that does not exist or comes twice; ``field`` says which."""

    def __init__(self, field: str, written: datetime, text: str) -> None:
        self.field = field
        self.written = written.isoformat(" ", "minutes")
        self.text = text
        super().__init__(f"{field}: {self.written} {text}")


def line_of(job: Job, order: Order | None) -> OrderLine:
    """A recorded job as the line that would ask for it."""
    return OrderLine(
        job=job.id,
        order=job.order,
        part=job.part,
        print_min=job.print_min,
        size_mm=job.size_mm,
        feeds=job.feeds,
        customer=order.customer if order else None,
        note=order.note if order else None,
        confidential=order.confidential if order else None,
        quantity=job.quantity,
        needs_qualified=job.needs_qualified,
        anneal=job.anneal,
        finish_min=job.finish_min,
        release=job.release,
        due=job.due,
        weight=job.weight,
        same_lot_as=job.same_lot_as,
    )


def jobs_of(line: OrderLine, known: Mapping[str, Job], zone: ZoneInfo, now: datetime) -> tuple[Job, ...]:
    """The jobs that a line asks for.

    A job that is known already keeps its pin and what has begun of it.

    Parameters
    ----------
    now : datetime
        Release of a new job where the line names none.

    Raises
    ------
    BadTime
        For a local time at a change of the clocks.
    """
    release, due = _instant("release", line.release, zone), _instant("due", line.due, zone)
    at_once = now.astimezone(zone).replace(second=0, microsecond=0)
    # The offset is kept, not the zone: a recorded instant must not move with the zone's rules.
    at_once = datetime.fromisoformat(at_once.isoformat())
    jobs = []
    for id in line.job_ids:
        before = known.get(id)
        jobs.append(
            Job(
                id=id,
                order=line.order,
                part=line.part,
                quantity=line.quantity,
                print_min=line.print_min,
                size_mm=line.size_mm,
                needs_qualified=line.needs_qualified,
                anneal=line.anneal,
                finish_min=line.finish_min,
                release=release or (before.release if before else at_once),
                due=due,
                weight=line.weight,
                same_lot_as=line.same_lot_as,
                pinned=before.pinned if before else None,
                feeds=line.feeds,
                progress=before.progress if before else None,
            )
        )
    return tuple(jobs)


def order_of(line: OrderLine, known: Order | None, now: datetime) -> Order:
    """The order of a line: what it says, else what is recorded."""
    order = known or Order(line.order, placed_at=now)
    return replace(
        order,
        customer=order.customer if line.customer is None else line.customer,
        note=order.note if line.note is None else line.note,
        confidential=order.confidential if line.confidential is None else line.confidential,
    )


def _instant(field: str, written: datetime | None, zone: ZoneInfo) -> datetime | None:
    if written is None:
        return None
    try:
        return instant_of(written, zone)
    except ValueError as error:
        raise BadTime(field, written, str(error)) from None
