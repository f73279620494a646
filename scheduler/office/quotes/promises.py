"""What became of promises, what prints took, and what the desk learns from both."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.office.clock import Clock
from scheduler.office.quotes.drafts import note
from scheduler.office.quotes.ground import ground_of, print_records, promise_records
from scheduler.office.refused import Refused
from scheduler.office.shop import OFFICE
from scheduler.quoting.forecast import Sureness, forecast
from scheduler.quoting.kept import HitRate, hit_rates, levels
from scheduler.quoting.learning import Learning, learn
from scheduler.quoting.ways import CHANCES
from scheduler.store import Event, PrintEnd, Quote, Record, Unit


@dataclass(frozen=True)
class Lessons:
    """All that the desk has learnt.

    Parameters
    ----------
    rates : tuple of HitRate
        By the chance promised.
    learning : Learning or None
        Print times and failures; ``None`` before any print.
    since : datetime or None
        When a manager last began anew.
    levels : dict
        By chance, at which chance of the forecast new dates are read, as promises taught.
    used : bool
        Whether dates follow all this; a manager may set it aside and still see it.
    """

    rates: tuple[HitRate, ...]
    learning: Learning | None
    since: datetime | None
    promised: tuple[Quote, ...]
    levels: dict[float, float]
    used: bool


def record_print_end(record: Record, clock: Clock, end: PrintEnd, who: str = OFFICE) -> None:
    """Record what one print took, so that the next dates are truer.

    Raises
    ------
    Refused
        If its minutes can't be.
    """
    if not (end.estimated_min > 0 and end.actual_min >= 0):
        raise Refused(
            f"job {end.job}: {end.actual_min:g} min instead of {end.estimated_min:g} min can't be learnt from"
        )
    with record.writing() as unit:
        note_print_end(unit, end, clock(), who)


def note_print_end(unit: Unit, end: PrintEnd, now: datetime, who: str = OFFICE) -> None:
    """As `record_print_end`, within a unit of work of the caller."""
    unit.quotes.add_print_end(end)
    data = {"actual_min": end.actual_min, "estimated_min": end.estimated_min, "failed": end.failed}
    unit.events.append(Event(now, "print time noted", who, "job", end.job, data))


def note_order_done(unit: Unit, order: str, done_at: datetime, now: datetime, who: str = OFFICE) -> bool:
    """Note that everything of an order is done, if it came from a quote; False if it did not."""
    quote = unit.quotes.of_order(order)
    if quote is None or quote.state != "accepted" or quote.done_at is not None:
        return False
    unit.quotes.change(quote.number, at=now, done_at=done_at)
    kept = quote.promised_for is not None and done_at <= quote.promised_for
    note(unit, now, "promise kept" if kept else "promise missed", quote.number, who, {})
    return True


def lessons(record: Record, clock: Clock) -> Lessons:
    """What was learnt up to now."""
    now = clock()
    with record.reading() as unit:
        records, since = print_records(unit), unit.quotes.learning_since()
        promised, promises = unit.quotes.promised(), promise_records(unit)
        used = unit.quotes.learning_used()
    known = learn(records, now, since=since) if records else None
    read_at = levels(promises, now, CHANCES, since)
    return Lessons(hit_rates(promises, now, since), known, since, promised, read_at, used)


def begin_anew(record: Record, clock: Clock, who: str = OFFICE) -> None:
    """Forget for all dates to come what prints and promises taught; the records stay."""
    with record.writing() as unit:
        unit.quotes.reset_learning(clock(), who)
        unit.events.append(Event(clock(), "learning begun anew", who, "learning", "", {}))


def use_what_was_learnt(record: Record, clock: Clock, used: bool, who: str = OFFICE) -> None:
    """Let dates to come follow what prints and promises taught, or not; both are recorded either way.

    Prints of orders that are taken already stay planned as they are.
    """
    with record.writing() as unit:
        if unit.quotes.learning_used() != used:
            unit.quotes.use_learning(used, clock(), who)
            what = "learning used again" if used else "learning set aside"
            unit.events.append(Event(clock(), what, who, "learning", "", {}))


def sure_dates(record: Record, clock: Clock, replications: int = 200) -> tuple[Sureness, ...]:
    """How sure the date of every order of the plan is, the least sure first."""
    ground = ground_of(record, clock)
    carried = forecast(ground.scenario, ground.plan, ground.variation, replications=replications)
    rows = carried.of_orders()
    return tuple(
        sorted(rows, key=lambda row: (2.0 if row.on_time is None else row.on_time, row.planned, row.id))
    )


def new_link(record: Record, clock: Clock, number: int, who: str = OFFICE) -> int:
    """Begin a new customer's link, which ends every one before; its serial.

    Raises
    ------
    Refused
        If the quote was never offered: there is nothing to show.
    """
    with record.writing() as unit:
        quote = unit.quotes.get(number)
        if quote.promised_for is None:
            raise Refused(f"{quote.name} is {quote.state}; a link is given for what was offered")
        unit.quotes.change(number, at=clock(), link_serial=quote.link_serial + 1)
        note(unit, clock(), "link given", number, who, {"serial": quote.link_serial + 1})
        return quote.link_serial + 1


def revoke_link(record: Record, clock: Clock, number: int, who: str = OFFICE) -> None:
    """End every customer's link of a quote."""
    with record.writing() as unit:
        quote = unit.quotes.get(number)
        unit.quotes.change(number, at=clock(), link_serial=quote.link_serial + 1)
        note(unit, clock(), "link revoked", number, who, {})
