"""Holds that end: what they kept goes back to everybody."""

from __future__ import annotations

from datetime import datetime

from scheduler.office.clock import Clock
from scheduler.office.quotes.overtime import take_back
from scheduler.store import Event, Quote, Record, Unit

#: Who is named in events for what the desk does by itself.
DESK = "quote desk"


def expire_holds(record: Record, clock: Clock) -> tuple[int, ...]:
    """Give back what is held too long, and announce it; the numbers of these quotes."""
    now = clock()
    with record.reading() as unit:
        if not unit.quotes.held_beyond(now):
            return ()
    with record.writing() as unit:
        ended = unit.quotes.held_beyond(now)
        for quote in ended:
            overtime = give_back(unit, quote, now)
            unit.quotes.change(quote.number, at=now, state="expired", held_until=None, order=None)
            data = {"customer": quote.customer, "overtime": list(overtime)}
            unit.events.append(Event(now, "hold ended", DESK, "quote", quote.name, data))
        return tuple(quote.number for quote in ended)


def give_back(unit: Unit, quote: Quote, now: datetime) -> tuple[str, ...]:
    """Take a held quote's jobs, and the spools to be bought for it, out of the shop, and its overtime.

    Returns
    -------
    tuple of str
        What became of each overtime, in sentences: others may need it by then.
    """
    scenario = unit.fleet.load()
    there = {job.id for job in scenario.jobs if job.progress is None}
    # A job that others follow in lot goes after them.
    for job in sorted(unit.quotes.held(quote.number, "job"), reverse=True):
        if job in there:
            unit.fleet.remove_job(job)
    for spool in unit.quotes.held(quote.number, "spool"):
        unit.fleet.remove_spool(spool)
    overtime = take_back(unit, quote, now)
    unit.quotes.let_go(quote.number)
    unit.quotes.note_planned_times(quote.name, {})
    return overtime
