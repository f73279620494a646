"""The demo shop's made-up quotes: a handful in every state, and two months of prints and promises before.

The quotes are made by the quote desk itself once the shop is served and the compiled search is there, so
that the first page need not wait for them. What lies in the past is put on record as it would stand there.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta

from demo_fleet.dice import Dice
from scheduler.model import Plan, Scenario
from scheduler.model.errors import SoaklineError
from scheduler.office.clock import Clock, system_clock
from scheduler.office.quotes.drafts import decline, draft
from scheduler.office.quotes.holds import accept, hold, send
from scheduler.office.quotes.promises import new_link, note_order_done, note_print_end
from scheduler.quoting.ask import Ask, AskLine
from scheduler.store import PrintEnd, Record, Unit

#: Who is named in events.
DESK = "Ines Okoro"
#: Prints and promises of the demo's past, and how far back they reach.
PAST_PRINTS, PAST_PROMISES, PAST_DAYS = 400, 34, 56
#: How much longer than estimated prints of a material take in this shop; others take what is estimated.
SLOWER = {"PEEK": 1.12, "PEKK": 1.1, "PA12-CF": 1.08, "PEI": 1.18, "ASA": 0.93}
#: This machine is slower than the others.
SLOW_MACHINE = "clothilde"
#: One print in so many fails.
FAILING = 0.045
#: A held slot is kept for so long; the desk's own minutes before work begins are an hour.
HELD_FOR = timedelta(minutes=55)

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Asked:
    """A made-up request, and the state in which the demo begins with it."""

    customer: str
    contact: str
    line: AskLine
    state: str
    wanted_days: int | None = None


REQUESTS: tuple[Asked, ...] = (
    Asked("Auenholz Beekeeping Supply", "Lena Wabe",
          AskLine("hive frame clip", 12, "ASA", (60.0, 40.0, 25.0), 35.0, 22.0, (0.4, 0.6)), "accepted"),
    Asked("Silberpfad Optics", "Taro Engel",
          AskLine("lens carrier", 4, "PEI", (55.0, 55.0, 20.0), 110.0, 38.0, (0.4,)), "sent", 6),
    Asked("Lindgraben Railway Museum", "Ruth Achsel",
          AskLine("lamp housing", 3, "PC", (90.0, 90.0, 70.0), 190.0, 85.0, (0.4, 0.6)), "held", 5),
    Asked("Kupfermoor Brewery", "Omar Zapf",
          AskLine("tap handle", 8, "PETG", (40.0, 35.0, 120.0), 70.0, 45.0, (0.4, 0.6)), "declined"),
    Asked("Hexental Robotics", "Ida Gelenk",
          AskLine("gripper finger", 6, "PA12-CF", (70.0, 30.0, 25.0), 95.0, 30.0, (0.6,)), "draft", 1),
)  # fmt: skip

#: Customers of the past.
CUSTOMERS = tuple(dict.fromkeys(asked.customer for asked in REQUESTS))


def make_demo_quotes(database_url: str) -> int:
    """Make the quotes of a served demo; how many. For a process of its own."""
    record = Record(database_url)
    try:
        return make_quotes(record, system_clock)
    finally:
        record.close()


def make_quotes(record: Record, clock: Clock) -> int:
    """Draft, offer, hold, accept and decline what the demo begins with; how many quotes were made.

    One that the shop of this hour has no place for stays a draft.
    """
    made = 0
    for asked in REQUESTS:
        wanted = None if asked.wanted_days is None else _noon(clock(), asked.wanted_days)
        number = draft(record, clock, asked.customer, asked.contact, Ask((asked.line,), wanted), DESK)
        made += 1
        try:
            _bring_to(record, clock, number, asked.state)
        except SoaklineError as refusal:
            log.info("demo quote %d stays as it is: %s", number, refusal)
    return made


def _bring_to(record: Record, clock: Clock, number: int, state: str) -> None:
    if state in ("held", "accepted"):
        until = (clock() + HELD_FOR).replace(second=0, microsecond=0)
        hold(record, clock, number, until, who=DESK)
    elif state in ("sent", "declined"):
        send(record, clock, number, "as planned", 0.8, DESK)
    if state == "accepted":
        accept(record, clock, number, who=DESK)
    elif state == "sent":
        new_link(record, clock, number, DESK)
    elif state == "declined":
        decline(record, clock, number, DESK)


def note_past(unit: Unit, scenario: Scenario, plan: Plan, now: datetime) -> None:
    """Put two months of prints and promises on record, so that there is something to have learnt."""
    dice = Dice("the demo's past")
    jobs = {job.id: job for job in scenario.jobs}
    placed = [planned for planned in plan.jobs if planned.job in jobs]
    for at in _moments(dice, now, PAST_PRINTS):
        planned = dice.pick(placed)
        job = jobs[planned.job]
        material, minutes = job.feeds[0].material, float(max(30, job.print_min))
        slow = 1.04 if planned.printer == SLOW_MACHINE else 1.0
        took = minutes * SLOWER.get(material, 1.0) * slow * dice.lognormal(1.0, 0.05)
        failed = dice.chance(FAILING)
        if failed:
            took *= dice.between(0.05, 0.9)
        end = PrintEnd(at, "before", planned.printer, material, minutes, round(took), failed)
        note_print_end(unit, end, at, DESK)
    for at in _moments(dice, now - timedelta(days=6), PAST_PROMISES):
        _promise_of_the_past(unit, dice, at)


def _promise_of_the_past(unit: Unit, dice: Dice, at: datetime) -> None:
    asked, chance = dice.pick(REQUESTS), dice.weighted((0.8, 0.95), (4, 1))
    promised = _noon(at, dice.whole(2, 5))
    hours = dice.between(1, 30)
    done = promised - timedelta(hours=hours) if dice.chance(chance) else promised + timedelta(hours=hours / 3)
    ask = Ask((asked.line,))
    number = unit.quotes.add(
        customer=asked.customer,
        contact=asked.contact,
        parts=ask.parts,
        wanted=None,
        content=ask.content(),
        at=at,
        who=DESK,
    )
    order = f"Q-{number}"
    unit.quotes.change(
        number,
        at=at,
        state="accepted",
        order=order,
        chance=chance,
        way="as planned",
        promised_at=at,
        promised_for=promised,
        planned_for=promised - timedelta(hours=12),
    )
    done = done.replace(second=0, microsecond=0)
    note_order_done(unit, order, done, done, DESK)


def _moments(dice: Dice, now: datetime, count: int) -> list[datetime]:
    """Instants of the past weeks, in order, on whole minutes."""
    minutes = sorted(dice.whole(60, PAST_DAYS * 24 * 60) for _ in range(count))
    whole = now.replace(second=0, microsecond=0)
    return [whole - timedelta(minutes=back) for back in reversed(minutes)]


def _noon(now: datetime, days: int) -> datetime:
    """Towards noon so many days later, or on the Monday after where that is a Saturday or Sunday."""
    there = (now + timedelta(days=days)).replace(hour=11, minute=0, second=0, microsecond=0)
    return there + timedelta(days=max(0, 7 - there.weekday()) if there.weekday() >= 5 else 0)
