"""What an order sheet would change, and the change itself."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from scheduler.model import Job, Scenario
from scheduler.model.codec import scenario_offences
from scheduler.office.clock import Clock, system_clock
from scheduler.office.orders.columns import COLUMNS
from scheduler.office.orders.line import BadTime, jobs_of, order_of
from scheduler.office.orders.sheet import OrderSheet, SheetMessage
from scheduler.office.refused import Refused
from scheduler.office.shop import OFFICE
from scheduler.store import Event, Order, Record, Unit

_JOB_PATH = re.compile(r"jobs\[(\d+)\]\.?(.*)\Z", re.DOTALL)


@dataclass(frozen=True, slots=True)
class JobChange:
    """A recorded job and what a sheet makes of it."""

    before: Job
    after: Job

    @property
    def fields(self) -> tuple[str, ...]:
        """Names of the job's fields that differ."""
        return tuple(
            field.name
            for field in fields(Job)
            if getattr(self.before, field.name) != getattr(self.after, field.name)
        )


@dataclass(frozen=True, slots=True)
class Changes:
    """What a sheet would do; with any message, it does nothing.

    Parameters
    ----------
    same : tuple of Job
        Jobs that are recorded as the sheet has them.
    orders : tuple of Order
        Orders of which customer, note or confidentiality would be new.
    """

    added: tuple[Job, ...] = ()
    changed: tuple[JobChange, ...] = ()
    same: tuple[Job, ...] = ()
    orders: tuple[Order, ...] = ()
    messages: tuple[SheetMessage, ...] = ()


def preview_orders(record: Record, sheet: OrderSheet, clock: Clock = system_clock) -> Changes:
    """What a sheet would change in the recorded shop; nothing is stored."""
    with record.reading() as unit:
        return _changes(unit, clock(), sheet)


def apply_orders(record: Record, clock: Clock, sheet: OrderSheet, who: str = OFFICE) -> Changes:
    """Record what a sheet asks for, all of it or nothing.

    Raises
    ------
    Refused
        With a line for each message; nothing is stored then.
    """
    with record.writing() as unit:
        now = clock()
        changes = _changes(unit, now, sheet)
        if changes.messages:
            raise Refused("\n".join(str(message) for message in changes.messages))
        if not (changes.added or changes.changed or changes.orders):
            return changes
        unit.fleet.save_jobs((*changes.added, *(change.after for change in changes.changed)))
        if changes.orders:
            unit.orders.save_all(changes.orders)
        events = [
            Event(now, "job added", who, "job", job.id, {"order": job.order, "sheet": sheet.filename})
            for job in changes.added
        ]
        events += [
            Event(
                now,
                "job changed",
                who,
                "job",
                change.after.id,
                {"fields": list(change.fields), "sheet": sheet.filename},
            )
            for change in changes.changed
        ]
        events += [
            Event(now, "order noted", who, "order", order.id, {"sheet": sheet.filename})
            for order in changes.orders
        ]
        unit.events.append_all(events)
        return changes


def _changes(unit: Unit, now: datetime, sheet: OrderSheet) -> Changes:
    if sheet.messages:
        return Changes(messages=sheet.messages)
    scenario = unit.fleet.load()
    known_orders = {order.id: order for order in unit.orders.list()}
    wanted, row_of, messages = _jobs(scenario, now, sheet)
    orders, contradictions = _orders(known_orders, now, sheet)
    messages += contradictions
    before = {job.id: job for job in scenario.jobs}
    jobs = tuple(wanted.get(job.id, job) for job in scenario.jobs)
    jobs += tuple(job for job in wanted.values() if job.id not in before)
    messages += _unsound(replace(scenario, jobs=jobs), row_of)
    if messages:
        messages.sort(key=lambda message: message.row or 0)
        return Changes(messages=tuple(messages))
    both = [(before[job.id], job) for job in wanted.values() if job.id in before]
    return Changes(
        added=tuple(job for job in wanted.values() if job.id not in before),
        changed=tuple(JobChange(old, new) for old, new in both if old != new),
        same=tuple(new for old, new in both if old == new),
        orders=tuple(order for order in orders.values() if order != known_orders.get(order.id)),
    )


def _jobs(
    scenario: Scenario, now: datetime, sheet: OrderSheet
) -> tuple[dict[str, Job], dict[str, int], list[SheetMessage]]:
    """The jobs that a sheet asks for by id, the row of each, and what is wrong with them."""
    zone = ZoneInfo(scenario.site.timezone)
    known = {job.id: job for job in scenario.jobs}
    wanted: dict[str, Job] = {}
    row_of: dict[str, int] = {}
    messages: list[SheetMessage] = []
    for row in sheet.rows:
        try:
            jobs = jobs_of(row.line, known, zone, now)
        except BadTime as error:
            messages.append(SheetMessage(row.row, error.field, error.written, error.text))
            continue
        for job in jobs:
            if job.id in wanted:
                text = f"is asked for in row {row_of[job.id]} already"
                messages.append(SheetMessage(row.row, "job", job.id, text))
            else:
                wanted[job.id], row_of[job.id] = job, row.row
    return wanted, row_of, messages


def _orders(
    known: Mapping[str, Order], now: datetime, sheet: OrderSheet
) -> tuple[dict[str, Order], list[SheetMessage]]:
    """The orders of a sheet by id; two rows must not tell different things of one."""
    orders: dict[str, Order] = {}
    said: dict[tuple[str, str], tuple[int, object]] = {}
    messages: list[SheetMessage] = []
    for row in sheet.rows:
        line = row.line
        for field in ("customer", "note", "confidential"):
            value = getattr(line, field)
            if value is None:
                continue
            first, other = said.setdefault((line.order, field), (row.row, value))
            if other != value:
                shown = value if isinstance(value, str) else ("yes" if value else "no")
                text = f"differs from row {first} of the same order {line.order}"
                messages.append(SheetMessage(row.row, field, shown, text))
        orders[line.order] = order_of(line, orders.get(line.order) or known.get(line.order), now)
    return orders, messages


def _unsound(scenario: Scenario, row_of: Mapping[str, int]) -> list[SheetMessage]:
    """What would be wrong with the shop, told by row and column where a row is to blame."""
    messages = []
    for offence in scenario_offences(scenario):
        found = _JOB_PATH.match(offence.path)
        row = row_of.get(scenario.jobs[int(found[1])].id) if found else None
        if found and row is not None:
            messages.append(SheetMessage(row, _column(found[2]), "", offence.message))
        else:
            messages.append(SheetMessage(None, None, "", str(offence)))
    return messages


def _column(path: str) -> str | None:
    """The heading of the column from which a part of a job came."""
    for column in COLUMNS:
        if column.path and (path == column.path or path.startswith(f"{column.path}[")):
            return column.heading
    return None
