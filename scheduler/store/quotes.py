"""Recorded quotes, price sheets, and what the desk learns from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import ColumnElement, Connection, Row, delete, func, insert, or_, select, update

from scheduler.model import Shift
from scheduler.store.errors import RecordRefused
from scheduler.store.rows.batch import table
from scheduler.store.tables import (
    LearningResetRow,
    LearningSwitchRow,
    PlannedTimeRow,
    PriceSheetRow,
    PrintEndRow,
    QuoteRow,
    QuoteShiftRow,
    QuoteThingRow,
    QuoteVersionRow,
)

QuoteState = Literal["draft", "sent", "held", "accepted", "declined", "expired"]


@dataclass(frozen=True, slots=True)
class Quote:
    """A quote as it stands.

    Parameters
    ----------
    version : int
        How often what is asked for was set; see `QuoteVersion`.
    parts : str
        The parts asked for in one line of text, to be searched.
    order : str or None
        The order whose jobs are held, or were accepted.
    chance : float or None
        The chance with which ``promised_for`` was promised, 0 to 1.
    planned_for : datetime or None
        When the plan has it done; the promise is no sooner.
    price_cents : int or None
        With tax.
    terms : dict or None
        The price as it was offered: currency, tax, net and the lines for the staff.
    way : str or None
        Which way was offered.
    done_at : datetime or None
        When everything of it was done.
    link_serial : int
        Links that carry another serial are revoked; 0: none was given.
    """

    number: int
    state: QuoteState
    version: int
    customer: str
    contact: str
    parts: str
    wanted: datetime | None
    created_at: datetime
    changed_at: datetime
    order: str | None = None
    chance: float | None = None
    planned_for: datetime | None = None
    promised_at: datetime | None = None
    promised_for: datetime | None = None
    valid_until: datetime | None = None
    held_until: datetime | None = None
    price_cents: int | None = None
    terms: dict[str, Any] | None = None
    way: str | None = None
    done_at: datetime | None = None
    link_serial: int = 0

    @property
    def name(self) -> str:
        """What people call it: "Q-12"."""
        return f"Q-{self.number}"


@dataclass(frozen=True, slots=True)
class QuoteVersion:
    """What a quote asked for at one version; ``content`` as JSON can carry it."""

    quote: int
    version: int
    at: datetime
    who: str
    content: dict[str, Any]


@dataclass(frozen=True, slots=True)
class PrintEnd:
    """One print that ended; minutes as estimated for that machine, and as it was."""

    at: datetime
    job: str
    machine: str
    material: str
    estimated_min: float
    actual_min: float
    failed: bool


class Quotes:
    """The quote desk's rows, within one unit of work."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._quotes = table(QuoteRow)
        self._versions = table(QuoteVersionRow)
        self._things = table(QuoteThingRow)

    # ---- quotes -----------------------------------------------------------------------------

    def add(
        self,
        *,
        customer: str,
        contact: str,
        parts: str,
        wanted: datetime | None,
        content: dict[str, Any],
        at: datetime,
        who: str,
    ) -> int:
        """Record a draft; its number. Numbers only grow."""
        number = (self._connection.execute(select(func.max(self._quotes.c.number))).scalar_one() or 0) + 1
        self._connection.execute(
            insert(self._quotes).values(
                number=number,
                state="draft",
                version=1,
                customer=customer,
                contact=contact,
                parts=parts,
                wanted=wanted,
                created_at=at,
                changed_at=at,
                link_serial=0,
            )
        )
        self._note_version(number, 1, at, who, content)
        return number

    def revise(self, number: int, *, content: dict[str, Any], at: datetime, who: str, **heads: Any) -> int:
        """Set what a quote asks for anew, with its customer and so on; the new version."""
        version: int = self.get(number).version + 1
        self.change(number, at=at, version=version, **heads)
        self._note_version(number, version, at, who, content)
        return version

    def change(self, number: int, *, at: datetime, **values: Any) -> None:
        """Set columns of a quote."""
        quotes = self._quotes
        self._connection.execute(
            update(quotes).where(quotes.c.number == number).values(changed_at=at, **values)
        )

    def get(self, number: int) -> Quote:
        """A quote.

        Raises
        ------
        RecordRefused
            If there is none of this number.
        """
        row = self._connection.execute(
            select(self._quotes).where(self._quotes.c.number == number)
        ).one_or_none()
        if row is None:
            raise RecordRefused(f"there is no quote Q-{number}")
        return _quote(row)

    def find(self, words: str = "", states: Iterable[QuoteState] = (), limit: int = 200) -> tuple[Quote, ...]:
        """Quotes whose customer, contact or parts hold each of the words, the newest first."""
        quotes = self._quotes
        wanted = select(quotes).order_by(quotes.c.number.desc()).limit(limit)
        for word in words.lower().split():
            like = "%" + word.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
            columns = (quotes.c.customer, quotes.c.contact, quotes.c.parts)
            hits: list[ColumnElement[bool]] = [
                func.lower(column).like(like, escape="\\") for column in columns
            ]
            digits = word.removeprefix("q-")
            if digits.isascii() and digits.isdigit() and len(digits) < 9:
                hits.append(quotes.c.number == int(digits))
            wanted = wanted.where(or_(*hits))
        chosen = tuple(states)
        if chosen:
            wanted = wanted.where(quotes.c.state.in_(chosen))
        return tuple(_quote(row) for row in self._connection.execute(wanted))

    def versions(self, number: int) -> tuple[QuoteVersion, ...]:
        """Everything that a quote ever asked for, the newest first."""
        versions = self._versions
        rows = self._connection.execute(
            select(versions).where(versions.c.quote == number).order_by(versions.c.version.desc())
        )
        return tuple(QuoteVersion(row.quote, row.version, row.at, row.who, row.content) for row in rows)

    def promised(self) -> tuple[Quote, ...]:
        """Accepted quotes with a promise, the oldest first."""
        quotes = self._quotes
        rows = self._connection.execute(
            select(quotes)
            .where(quotes.c.state == "accepted", quotes.c.promised_for.is_not(None))
            .order_by(quotes.c.number)
        )
        return tuple(_quote(row) for row in rows)

    def of_order(self, order: str) -> Quote | None:
        """The quote from which an order came."""
        quotes = self._quotes
        row = self._connection.execute(select(quotes).where(quotes.c.order == order)).first()
        return None if row is None else _quote(row)

    def held_beyond(self, at: datetime) -> tuple[Quote, ...]:
        """Held quotes whose hold has ended by an instant."""
        held = self.find(states=("held",), limit=100_000)
        return tuple(quote for quote in held if quote.held_until is not None and quote.held_until <= at)

    # ---- what is held -----------------------------------------------------------------------

    def hold(self, number: int, kind: Literal["job", "spool"], ids: Iterable[str]) -> None:
        """Note jobs or spools that the shop has for a quote."""
        for id in ids:
            self._connection.execute(insert(self._things).values(quote=number, kind=kind, thing=id))

    def held(self, number: int, kind: Literal["job", "spool"]) -> tuple[str, ...]:
        """The jobs, or the spools, that the shop has for a quote, by id."""
        things = self._things
        rows = self._connection.execute(
            select(things.c.thing)
            .where(things.c.quote == number, things.c.kind == kind)
            .order_by(things.c.thing)
        )
        return tuple(rows.scalars())

    def hold_shifts(self, number: int, shifts: Iterable[Shift]) -> None:
        """Note overtime that stands in the shop's shifts for a quote alone."""
        for one in shifts:
            self._connection.execute(
                insert(table(QuoteShiftRow)).values(
                    quote=number, start=one.start, end=one.end, hands=one.hands
                )
            )

    def held_shifts(self, number: int) -> tuple[Shift, ...]:
        """Overtime that stands in the shop's shifts for a quote alone, in order."""
        shifts = table(QuoteShiftRow)
        rows = self._connection.execute(
            select(shifts).where(shifts.c.quote == number).order_by(shifts.c.start, shifts.c.end)
        )
        return tuple(Shift(row.start, row.end, row.hands) for row in rows)

    def let_go(self, number: int) -> None:
        """Forget what was held for a quote."""
        for held in (self._things, table(QuoteShiftRow)):
            self._connection.execute(delete(held).where(held.c.quote == number))

    def planned_dates(self) -> dict[str, datetime]:
        """By order of a held or accepted quote that is not done: its date in the plan as promised then."""
        quotes = self._quotes
        rows = self._connection.execute(
            select(quotes.c.order, quotes.c.planned_for).where(
                quotes.c.state.in_(("held", "accepted")),
                quotes.c.done_at.is_(None),
                quotes.c.order.is_not(None),
                quotes.c.planned_for.is_not(None),
            )
        )
        return {row.order: row.planned_for for row in rows}

    # ---- planned print times ----------------------------------------------------------------

    def note_planned_times(self, order: str, factors: Mapping[str, float]) -> None:
        """Note by material by what factor an order's prints are planned; what was noted before is gone."""
        times = table(PlannedTimeRow)
        self._connection.execute(delete(times).where(times.c.order == order))
        for material, factor in factors.items():
            self._connection.execute(insert(times).values(order=order, material=material, factor=factor))

    def planned_times(self, order: str | None = None) -> dict[tuple[str, str], float]:
        """Factors by order and material, of one order or of all; those not named are planned as estimated."""
        times = table(PlannedTimeRow)
        rows = select(times) if order is None else select(times).where(times.c.order == order)
        return {(row.order, row.material): row.factor for row in self._connection.execute(rows)}

    # ---- price sheet, learning --------------------------------------------------------------

    def price_sheet(self) -> dict[str, Any] | None:
        """The content of the newest price sheet; ``None`` while none was set."""
        sheets = table(PriceSheetRow)
        row = self._connection.execute(
            select(sheets.c.content).order_by(sheets.c.number.desc()).limit(1)
        ).one_or_none()
        return None if row is None else row.content

    def set_price_sheet(self, content: dict[str, Any], at: datetime, who: str) -> None:
        """Record a price sheet; those before stay in the record."""
        sheets = table(PriceSheetRow)
        number = self._next(sheets.c.number)
        self._connection.execute(insert(sheets).values(number=number, at=at, who=who, content=content))

    def add_print_end(self, end: PrintEnd) -> None:
        """Record a print that ended."""
        ends = table(PrintEndRow)
        values = {name: getattr(end, name) for name in PrintEnd.__slots__}
        self._connection.execute(insert(ends).values(number=self._next(ends.c.number), **values))

    def print_ends(self) -> tuple[PrintEnd, ...]:
        """All prints that ended, the oldest first."""
        ends = table(PrintEndRow)
        rows = self._connection.execute(select(ends).order_by(ends.c.number))
        return tuple(
            PrintEnd(
                row.at, row.job, row.machine, row.material, row.estimated_min, row.actual_min, row.failed
            )
            for row in rows
        )

    def reset_learning(self, at: datetime, who: str) -> None:
        """From now on nothing earlier is learnt from."""
        resets = table(LearningResetRow)
        self._connection.execute(insert(resets).values(number=self._next(resets.c.number), at=at, who=who))

    def learning_since(self) -> datetime | None:
        """The newest reset of learning."""
        resets = table(LearningResetRow)
        row = self._connection.execute(
            select(resets.c.at).order_by(resets.c.number.desc()).limit(1)
        ).one_or_none()
        return None if row is None else row.at

    def use_learning(self, used: bool, at: datetime, who: str) -> None:
        """From now on dates follow what was learnt, or do not."""
        switches = table(LearningSwitchRow)
        self._connection.execute(
            insert(switches).values(number=self._next(switches.c.number), at=at, who=who, used=used)
        )

    def learning_used(self) -> bool:
        """Whether dates follow what was learnt."""
        switches = table(LearningSwitchRow)
        newest = select(switches.c.used).order_by(switches.c.number.desc()).limit(1)
        used = self._connection.execute(newest).scalar_one_or_none()
        return True if used is None else used

    def _next(self, column: Any) -> int:
        return int(self._connection.execute(select(func.max(column))).scalar_one() or 0) + 1

    def _note_version(
        self, number: int, version: int, at: datetime, who: str, content: dict[str, Any]
    ) -> None:
        self._connection.execute(
            insert(self._versions).values(quote=number, version=version, at=at, who=who, content=content)
        )


def _quote(row: Row[Any]) -> Quote:
    return Quote(**{name: getattr(row, name) for name in Quote.__slots__})
