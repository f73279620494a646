"""Offers, holds and acceptance: no two quotes are ever promised the same hours.

A hold puts the request's jobs into the shop and a plan with them into the record, published, in one
unit of work. So every later quote and every plan of the week finds them in place. What is worked out
outside of that unit counts only if shop and plan are then still those that it was worked out on.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.model.errors import SoaklineError
from scheduler.office.clock import Clock
from scheduler.office.quotes.drafts import asked, note, still_valid, valid_until
from scheduler.office.quotes.expiry import DESK, expire_holds
from scheduler.office.quotes.ground import Ground, ground_of
from scheduler.office.quotes.prepared import prepared
from scheduler.office.refused import Refused
from scheduler.office.shop import OFFICE
from scheduler.quoting.ask import Ask
from scheduler.quoting.ways import CHANCES, WAY_NAMES, Answer, Way, WayName, answer
from scheduler.store import Event, Order, Quote, Record, Unit

#: So often a hold is worked out anew if the shop changed meanwhile.
TRIES = 25


class WorldChanged(Refused):
    """What was offered can't be had any more; ``changes`` says what is different."""

    def __init__(self, name: str, changes: list[str]) -> None:
        super().__init__(f"{name}: the shop has changed since. " + " ".join(changes))
        self.changes = changes


def answer_quote(
    record: Record, clock: Clock, number: int, only: WayName | None = None
) -> tuple[Ground, Answer]:
    """The ways of a quote on the shop of now; nothing is stored."""
    expire_holds(record, clock)
    ground = ground_of(record, clock)
    with record.reading() as unit:
        quote = unit.quotes.get(number)
        ask = asked(unit, number)
    return ground, answer_on(ground, quote, ask, only)


def answer_on(ground: Ground, quote: Quote, ask: Ask, only: WayName | None = None) -> Answer:
    """The ways of a quote on a ground."""
    made = prepared(ground, quote, ask)
    return answer(
        ground.scenario,
        ground.plan,
        made.jobs,
        made.spools,
        ground.sheet,
        made.variation,
        only=only,
        matched=ground.matched,
        limits=ground.limits,
    )


def send(
    record: Record, clock: Clock, number: int, way_name: WayName, chance: float, who: str = OFFICE
) -> Quote:
    """Offer a way to the customer with a date, a price and an end; no capacity is held yet."""
    must_be_known(chance)
    ground, found = answer_quote(record, clock, number, way_name)
    way = _way(found, way_name, number)
    with record.writing() as unit:
        quote = unit.quotes.get(number)
        if quote.state not in ("draft", "sent", "expired"):
            raise Refused(f"{quote.name} is {quote.state}; it can't be sent")
        now = clock()
        unit.quotes.change(
            number,
            at=now,
            state="sent",
            valid_until=valid_until(now, ground.sheet),
            **_offer(way, chance, now, ground),
        )
        note(unit, now, "quote sent", number, who, {"way": way_name, "chance": chance})
        return unit.quotes.get(number)


def hold(
    record: Record,
    clock: Clock,
    number: int,
    until: datetime,
    way_name: WayName = "as planned",
    chance: float = 0.8,
    no_later_than: datetime | None = None,
    who: str = OFFICE,
) -> Quote:
    """Reserve a quote's slot until an instant.

    Parameters
    ----------
    no_later_than : datetime or None
        The date that was shown or offered; refused if it can't be had any more. ``None``: that of the
        offer, if one was sent and still stands.

    Raises
    ------
    WorldChanged
        If the date can't be had any more, with what it would be now.
    Refused
        If there is nothing to hold, or work on it would begin before the hold ends.
    """
    must_be_known(chance)
    for _ in range(TRIES):
        ground, found = answer_quote(record, clock, number, way_name)
        way = _way(found, way_name, number)
        with record.writing() as unit:
            quote = unit.quotes.get(number)
            if not ground.stands(unit):
                continue
            if quote.state not in ("draft", "sent", "expired"):
                raise Refused(f"{quote.name} is {quote.state}; it can't be held")
            now = clock()
            _must_end_in_time(quote, way, now, until)
            limit = no_later_than
            if limit is None and quote.state == "sent" and still_valid(quote, now):
                limit = quote.promised_for
            _no_later(quote, way, chance, limit, ground)
            offer = _offer(way, chance, now, ground)
            _take(unit, ground, quote, way, offer["promised_for"], now, who, until)
            unit.quotes.change(number, at=now, state="held", held_until=until, order=quote.name, **offer)
            note(unit, now, "quote held", number, who, {"until": until.isoformat(), "way": way_name})
            return unit.quotes.get(number)
    raise Refused(f"Q-{number}: others changed the shop {TRIES} times meanwhile; try again in a moment")


def accept(record: Record, clock: Clock, number: int, even_later: bool = False, who: str = OFFICE) -> Quote:
    """Turn a held or sent quote into an order, in one unit of work.

    Parameters
    ----------
    even_later : bool
        Accept it too if what was offered can't be kept any more: then by the date that can.

    Raises
    ------
    WorldChanged
        If the promised date can't be kept any more.
    """
    expire_holds(record, clock)
    with record.writing() as unit:
        quote = unit.quotes.get(number)
        now = clock()
        if quote.state == "held":
            changes = _changes(unit, quote)
            if changes and not even_later:
                raise WorldChanged(quote.name, changes)
            _accepted(unit, quote, now, who)
            return unit.quotes.get(number)
        if quote.state != "sent":
            raise Refused(f"{quote.name} is {quote.state}; only a quote that is sent or held can be accepted")
        if not still_valid(quote, now):
            raise Refused(f"the offer of {quote.name} ended; work out a new one")
    chance, limit = quote.chance or CHANCES[1], None if even_later else quote.promised_for
    for _ in range(TRIES):
        ground, found = answer_quote(record, clock, number, _name_of(quote))
        way = _way(found, _name_of(quote), number)
        with record.writing() as unit:
            quote = unit.quotes.get(number)
            if not ground.stands(unit):
                continue
            if quote.state != "sent":
                raise Refused(f"{quote.name} is {quote.state} meanwhile")
            now = clock()
            _no_later(quote, way, chance, limit, ground)
            promised = max(quote.promised_for or way.planned_for, way.planned_for)
            _take(unit, ground, quote, way, promised, now, who)
            unit.quotes.change(
                number, at=now, order=quote.name, promised_for=promised, planned_for=way.planned_for
            )
            _accepted(unit, unit.quotes.get(number), now, who)
            return unit.quotes.get(number)
    raise Refused(f"Q-{number}: others changed the shop {TRIES} times meanwhile; try again in a moment")


def must_be_known(chance: float) -> None:
    """Refuse a chance that no date is worked out for."""
    if chance not in CHANCES:
        raise Refused(f"chance: {chance:g} is none of {', '.join(f'{one:g}' for one in CHANCES)}")


def _name_of(quote: Quote) -> WayName:
    """The way that was offered."""
    return next((name for name in WAY_NAMES if name == quote.way), WAY_NAMES[0])


def _way(found: Answer, name: str, number: int) -> Way:
    way = found.way(name)
    if way is not None:
        return way
    if found.ways:
        raise Refused(f"Q-{number}: there is no way {name!r} now")
    raise Refused(f"Q-{number}: no place is found for it in the plan")


def _offer(way: Way, chance: float, now: datetime, ground: Ground) -> dict[str, Any]:
    new, sheet = set(way.insertion.added), ground.sheet
    used = {job.feeds[0].material for job in way.insertion.scenario.jobs if job.id in new}
    return {
        "terms": {
            "currency": sheet.currency,
            "tax_name": sheet.tax_name,
            "tax_percent": str(sheet.tax_percent),
            "net_cents": way.price.net_cents,
            "lines": [[line.what, line.cents] for line in way.price.lines],
            "takes": list(way.takes),
            "counted": list(ground.counted(used)),
        },
        "way": way.name,
        "chance": chance,
        "planned_for": way.planned_for,
        "promised_at": now,
        "promised_for": way.promise(chance),
        "price_cents": way.price.cents,
    }


def _must_end_in_time(quote: Quote, way: Way, now: datetime, until: datetime) -> None:
    if until <= now:
        raise Refused(
            f"{quote.name}: the hold would end at {until.isoformat(timespec='minutes')}, before now"
        )
    first = begins(way)
    if until > first:
        raise Refused(
            f"{quote.name}: work on it begins at {first.isoformat(timespec='minutes')};"
            " a hold must end by then, or the quote be accepted"
        )


def begins(way: Way) -> datetime:
    """The first minute of work that only this request wants: a changeover, or drying of a bought spool.

    Drying a spool that the shop has anyway is no loss if the quote comes to nothing.
    """
    bought = set(way.bought)
    first = min(job.steps[0].start for job in way.jobs)
    return min([first, *(run.start for run in way.plan.dryer_runs if bought.intersection(run.spools))])


def _no_later(quote: Quote, way: Way, chance: float, limit: datetime | None, ground: Ground) -> None:
    if limit is None or way.planned_for <= limit:
        return
    raise WorldChanged(
        quote.name,
        [
            f"It was to be done by {limit.isoformat(timespec='minutes')};",
            f"the plan (number {ground.plan_number}) now has it done at"
            f" {way.planned_for.isoformat(timespec='minutes')},"
            f" with {100 * chance:.0f} % by {way.promise(chance).isoformat(timespec='minutes')}.",
        ],
    )


def _take(
    unit: Unit,
    ground: Ground,
    quote: Quote,
    way: Way,
    due: datetime,
    now: datetime,
    who: str,
    held_until: datetime | None = None,
) -> None:
    """Record a way's jobs, spools, overtime and plan; the checker has the last word."""
    found = way.insertion
    new = set(found.added)
    shop = replace(
        found.scenario,
        jobs=tuple(
            # A plan made while it is held must not begin it.
            replace(job, due=due, release=max(job.release, held_until or job.release))
            if job.id in new
            else job
            for job in found.scenario.jobs
        ),
    )
    plan = _checked(shop, found.plan(scenario_hash(shop), now))
    jobs = tuple(job for job in shop.jobs if job.id in new)
    known = {spool.id for spool in ground.scenario.spools}
    spools = tuple(spool for spool in shop.spools if spool.id not in known)
    for spool in spools:
        unit.fleet.save_spool(spool)
    if way.shifts:
        recorded = unit.fleet.load()
        unit.fleet.save_site(recorded.site, (*recorded.shifts, *way.shifts))
    unit.fleet.save_jobs(jobs)
    unit.orders.save(Order(quote.name, f"held for {quote.name}", "", True, now))
    unit.quotes.hold(quote.number, "job", [job.id for job in jobs])
    unit.quotes.hold(quote.number, "spool", [spool.id for spool in spools])
    unit.quotes.hold_shifts(quote.number, way.shifts)
    used = {job.feeds[0].material for job in jobs}
    unit.quotes.note_planned_times(
        quote.name, {material: factor for material, factor in ground.factors.items() if material in used}
    )
    number = unit.plans.add(
        plan,
        created_at=now,
        scenario_version=unit.fleet.version(),
        planned_from=shop.site.plan_start,
    )
    unit.plans.keep_basis(number, shop, ground.floor_event)
    unit.plans.publish(number, now)
    unit.events.append_all(
        [
            *(Event(now, "job added", who, "job", job.id, {"order": job.order}) for job in jobs),
            Event(now, "plan published", DESK, "plan", str(number), {"quote": quote.name}),
        ]
    )


def _checked(shop: Scenario, plan: Plan) -> Plan:
    breaches = check(shop, plan, plan.scenario_hash)
    if breaches:
        first = breaches[0]
        raise SoaklineError(
            "The plan with the quote in it broke rules and was not stored; this is a fault of the planner.\n"
            f"{first.rule} – {first.who}: {first.text}"
        )
    return plan


def _changes(unit: Unit, quote: Quote) -> list[str]:
    """What of a held quote is not as it was promised."""
    published = unit.plans.published()
    planned = {} if published is None else {job.job: job for job in published.plan.jobs}
    there = {job.id for job in unit.fleet.load().jobs}
    changes = []
    for job in unit.quotes.held(quote.number, "job"):
        if job not in there:
            changes.append(f"Job {job} was taken out of the shop.")
        elif job not in planned:
            changes.append(f"Job {job} has no place in the plan any more.")
        elif quote.promised_for is not None and planned[job].done > quote.promised_for:
            changes.append(
                f"Job {job} is now planned for {planned[job].done.isoformat(timespec='minutes')},"
                f" after the promised {quote.promised_for.isoformat(timespec='minutes')}."
            )
    return changes


def _accepted(unit: Unit, quote: Quote, now: datetime, who: str) -> None:
    unit.orders.save(Order(quote.name, quote.customer, f"from quote {quote.name}", False, now))
    unit.quotes.change(quote.number, at=now, state="accepted", held_until=None)
    jobs = unit.quotes.held(quote.number, "job")
    note(unit, now, "quote accepted", quote.number, who, {"order": quote.name, "jobs": list(jobs)})
    unit.quotes.let_go(quote.number)
