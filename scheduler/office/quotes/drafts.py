"""Drafts of quotes: written, changed, sent, turned down."""

from __future__ import annotations

from datetime import datetime, timedelta

from scheduler.office.clock import Clock
from scheduler.office.quotes.expiry import give_back
from scheduler.office.refused import Refused
from scheduler.office.shop import OFFICE
from scheduler.quoting.ask import Ask, ask_of, must_be_possible
from scheduler.quoting.price import PriceSheet, sheet_of
from scheduler.store import Event, Quote, Record, Unit

#: States in which what is asked for can still be changed.
OPEN = ("draft", "sent", "expired", "declined")
#: Longest customer's or contact's name, letters.
LONGEST_NAME = 200


def draft(record: Record, clock: Clock, customer: str, contact: str, ask: Ask, who: str = OFFICE) -> int:
    """Record a request as a draft; its number.

    Raises
    ------
    Refused, BadAsk
        With everything that can't be; nothing is stored then.
    """
    customer, contact = _names(customer, contact)
    with record.writing() as unit:
        now = clock()
        must_be_possible(ask, {m.id: m for m in unit.fleet.load().materials})
        number = unit.quotes.add(
            customer=customer,
            contact=contact,
            parts=ask.parts,
            wanted=ask.wanted,
            content=ask.content(),
            at=now,
            who=who,
        )
        note(unit, now, "quote drafted", number, who, {"customer": customer})
        return number


def revise(
    record: Record,
    clock: Clock,
    number: int,
    customer: str,
    contact: str,
    ask: Ask,
    seen: int | None = None,
    who: str = OFFICE,
) -> int:
    """Set what a quote asks for anew; what was offered before counts no more. The new version.

    Parameters
    ----------
    seen : int, optional
        The version that the change is based on; refused if it is not that of now.
    """
    customer, contact = _names(customer, contact)
    with record.writing() as unit:
        now = clock()
        quote = unit.quotes.get(number)
        if seen is not None and quote.version != seen:
            raise Refused(
                f"{quote.name} was changed meanwhile (you saw version {seen}, it is now {quote.version});"
                " nothing was stored, look again and repeat your change"
            )
        if quote.state not in OPEN:
            raise Refused(f"{quote.name} is {quote.state}; what it asks for can't be changed any more")
        must_be_possible(ask, {m.id: m for m in unit.fleet.load().materials})
        version = unit.quotes.revise(
            number,
            content=ask.content(),
            at=now,
            who=who,
            state="draft",
            customer=customer,
            contact=contact,
            parts=ask.parts,
            wanted=ask.wanted,
            promised_at=None,
            promised_for=None,
            planned_for=None,
            valid_until=None,
            price_cents=None,
            terms=None,
            chance=None,
            way=None,
        )
        note(unit, now, "quote changed", number, who, {"version": version})
        return version


def decline(record: Record, clock: Clock, number: int, who: str = OFFICE) -> None:
    """The customer does not want it; what was held is given back."""
    with record.writing() as unit:
        now, quote = clock(), unit.quotes.get(number)
        if quote.state in ("accepted", "declined"):
            raise Refused(f"{quote.name} is {quote.state} already")
        data: dict[str, object] = {}
        if quote.state == "held":
            data["overtime"] = list(give_back(unit, quote, now))
        unit.quotes.change(number, at=now, state="declined", held_until=None, order=None)
        note(unit, now, "quote declined", number, who, data)


def asked(unit: Unit, number: int) -> Ask:
    """What a quote asks for now."""
    return ask_of(unit.quotes.versions(number)[0].content)


def set_sheet(record: Record, clock: Clock, sheet: PriceSheet, who: str = OFFICE) -> None:
    """Set the price sheet; offers given before keep their price."""
    with record.writing() as unit:
        unit.quotes.set_price_sheet(sheet.content(), clock(), who)
        unit.events.append(Event(clock(), "price sheet set", who, "price sheet", "", {}))


def sheet_now(record: Record) -> PriceSheet:
    """The price sheet of now."""
    with record.reading() as unit:
        return sheet_of(unit.quotes.price_sheet())


def note(unit: Unit, now: datetime, kind: str, number: int, who: str, data: dict[str, object]) -> None:
    """Record an event of a quote."""
    unit.events.append(Event(now, kind, who, "quote", f"Q-{number}", data))


def still_valid(quote: Quote, now: datetime) -> bool:
    """Whether an offer that was sent still stands."""
    return quote.valid_until is not None and now <= quote.valid_until


def valid_until(now: datetime, sheet: PriceSheet) -> datetime:
    """Until when an offer of now stands."""
    return now + timedelta(days=sheet.valid_days)


def _names(customer: str, contact: str) -> tuple[str, str]:
    customer, contact = " ".join(customer.split()), " ".join(contact.split())
    if not customer:
        raise Refused("customer: nobody is named")
    for what, name in (("customer", customer), ("contact", contact)):
        if len(name) > LONGEST_NAME:
            raise Refused(f"{what}: {len(name)} letters are more than {LONGEST_NAME}")
    return customer, contact
