"""What a quote costs, by a sheet that the shop sets; decimal arithmetic, whole cents at the end of a line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any

from scheduler.model import ATTENDED_STEPS, Plan, PlannedJob, Printer, Scenario
from scheduler.model.errors import SoaklineError


class BadSheet(SoaklineError):
    """A figure of the price sheet that can't be, with a line for each."""


@dataclass(frozen=True, slots=True)
class PriceSheet:
    """A shop's prices; every amount in whole cents of one currency.

    The defaults are made-up round figures to begin from, no prices of any shop.

    Parameters
    ----------
    currency : str
        Letters of ISO 4217.
    tax_name, tax_percent : str, Decimal
        As it is to stand on the quote.
    machine_h_cents : dict
        An hour on a machine by its class: the hottest chamber from which on the price holds, °C.
    material_kg_cents : dict
        A kilogram by material, ``""`` for all others.
    waste_percent : Decimal
        Filament that is lost on top of what the jobs draw.
    purge_g : Decimal
        Filament purged at each changeover, grams.
    hands_h_cents, oven_h_cents, overtime_h_cents : int
        An hour of a person, of a dryer or an oven, and of a person in overtime on top.
    minimum_cents : int
        No quote costs less, before tax.
    rush_factor, patient_factor : Decimal
        On everything, if others make room; if the customer gives the shop time.
    patient_days : int
        How much time that is, days before work begins.
    office_min : int
        Minutes until work on a new order can begin.
    valid_days : int
        How long an offer stands that was sent.
    """

    currency: str = "EUR"
    tax_name: str = "VAT"
    tax_percent: Decimal = Decimal(20)
    machine_h_cents: dict[int, int] = field(default_factory=lambda: {0: 400, 60: 700, 100: 1200, 150: 2200})
    material_kg_cents: dict[str, int] = field(default_factory=lambda: {"": 9000})
    waste_percent: Decimal = Decimal(5)
    purge_g: Decimal = Decimal(8)
    hands_h_cents: int = 4500
    oven_h_cents: int = 300
    overtime_h_cents: int = 3000
    minimum_cents: int = 5000
    rush_factor: Decimal = Decimal("1.25")
    patient_factor: Decimal = Decimal("0.92")
    patient_days: int = 3
    office_min: int = 60
    valid_days: int = 14

    def __post_init__(self) -> None:
        faults = []
        if not (len(self.currency) == 3 and self.currency.isascii() and self.currency.isupper()):
            faults.append(f"currency: {self.currency!r} is not three capital letters")
        if not self.tax_name.strip():
            faults.append("tax: it has no name")
        for name, low, high in (
            ("tax_percent", 0, 100),
            ("waste_percent", 0, 300),
            ("purge_g", 0, 1000),
            ("rush_factor", 1, 10),
            ("patient_factor", Decimal("0.1"), 1),
            ("hands_h_cents", 0, 10**7),
            ("oven_h_cents", 0, 10**7),
            ("overtime_h_cents", 0, 10**7),
            ("minimum_cents", 0, 10**9),
            ("patient_days", 0, 60),
            ("office_min", 0, 20160),
            ("valid_days", 1, 365),
        ):
            if not low <= getattr(self, name) <= high:
                faults.append(f"{name.replace('_', ' ')}: {getattr(self, name)} is not from {low} to {high}")
        if 0 not in self.machine_h_cents:
            faults.append("machine hours: the class from 0 °C has no price")
        if "" not in self.material_kg_cents:
            faults.append("material: there is no price for all others")
        for what, prices in (("machine hours", self.machine_h_cents), ("material", self.material_kg_cents)):
            faults += [f"{what} {key}: {cents} is under 0" for key, cents in prices.items() if cents < 0]
        if faults:
            raise BadSheet("\n".join(faults))

    def content(self) -> dict[str, Any]:
        """As JSON can carry it."""
        return {one.name: _plain(getattr(self, one.name)) for one in fields(self)}

    def machine_cents(self, printer: Printer) -> int:
        """An hour on a printer."""
        hottest = printer.chamber_max_c or 0
        return self.machine_h_cents[max(since for since in self.machine_h_cents if since <= max(0, hottest))]


def sheet_of(content: dict[str, Any] | None) -> PriceSheet:
    """The sheet that `PriceSheet.content` wrote; the default one for ``None``."""
    if content is None:
        return PriceSheet()
    values = dict(content)
    for name in ("tax_percent", "waste_percent", "purge_g", "rush_factor", "patient_factor"):
        try:
            values[name] = Decimal(values[name])
        except InvalidOperation:
            raise BadSheet(f"{name.replace('_', ' ')}: {values[name]!r} is not a number") from None
        if not values[name].is_finite():
            raise BadSheet(f"{name.replace('_', ' ')}: {values[name]} is not a number")
    values["machine_h_cents"] = {int(since): cents for since, cents in values["machine_h_cents"].items()}
    return PriceSheet(**values)


@dataclass(frozen=True, slots=True)
class PriceLine:
    """One line of a breakdown."""

    what: str
    cents: int


@dataclass(frozen=True, slots=True)
class Price:
    """A price with its breakdown; the lines are for the staff."""

    lines: tuple[PriceLine, ...]
    net_cents: int
    tax_cents: int

    @property
    def cents(self) -> int:
        """With tax."""
        return self.net_cents + self.tax_cents


def price(
    sheet: PriceSheet,
    scenario: Scenario,
    plan: Plan,
    jobs: Sequence[str],
    *,
    factor: Decimal = Decimal(1),
    overtime_min: int = 0,
) -> Price:
    """The price of jobs as a plan carries them out.

    Parameters
    ----------
    factor : Decimal
        On everything but overtime: the sheet's for a rush, or for patience.
    overtime_min : int
        Minutes that somebody stays for them.
    """
    printers = {printer.id: printer for printer in scenario.printers}
    wanted, asked = set(jobs), {job.id: job for job in scenario.jobs}
    placed = [planned for planned in plan.jobs if planned.job in wanted]
    machine = material = hands = Decimal(0)
    minutes_machine = minutes_hands = minutes_oven = 0
    grams = Decimal(0)
    for planned in placed:
        minutes = _minutes(planned)
        minutes_machine += minutes
        machine += Decimal(minutes * sheet.machine_cents(printers[planned.printer])) / 60
        staff = sum(
            int((s.end - s.start).total_seconds()) // 60 for s in planned.steps if s.kind in ATTENDED_STEPS
        )
        staff += asked[planned.job].finish_min
        minutes_hands += staff
        hands += Decimal(staff * sheet.hands_h_cents) / 60
        for feed in asked[planned.job].feeds:
            drawn = Decimal(str(feed.grams)) * (100 + sheet.waste_percent) / 100 + sheet.purge_g
            grams += drawn
            per_kg = sheet.material_kg_cents.get(feed.material, sheet.material_kg_cents[""])
            material += drawn * per_kg / 1000
    spools = {choice.spool for planned in placed for choice in planned.feeds}
    for run in plan.dryer_runs:
        share = len(spools.intersection(run.spools))
        if share:
            minutes_oven += int((run.end - run.start).total_seconds()) // 60 * share // len(run.spools)
    for bake in plan.oven_runs:
        share = len(wanted.intersection(bake.jobs))
        if share:
            minutes_oven += int((bake.end - bake.start).total_seconds()) // 60 * share // len(bake.jobs)
    lines = [
        PriceLine(f"machines, {minutes_machine / 60:.1f} h", cents(machine)),
        PriceLine(f"filament with purge and waste, {grams:.0f} g", cents(material)),
        PriceLine(f"hands, {minutes_hands / 60:.1f} h", cents(hands)),
        PriceLine(
            f"dryers and ovens, {minutes_oven / 60:.1f} h",
            cents(Decimal(minutes_oven * sheet.oven_h_cents) / 60),
        ),
    ]
    net = sum(line.cents for line in lines)
    if factor != 1:
        extra = cents(net * (factor - 1))
        word = "rush" if factor > 1 else "time given"
        lines.append(PriceLine(f"{word}, × {factor}", extra))
        net += extra
    if overtime_min:
        over = cents(Decimal(overtime_min * (sheet.overtime_h_cents + sheet.hands_h_cents)) / 60)
        lines.append(PriceLine(f"overtime, {overtime_min} min", over))
        net += over
    if net < sheet.minimum_cents:
        lines.append(PriceLine("up to the minimum", sheet.minimum_cents - net))
        net = sheet.minimum_cents
    return Price(tuple(lines), net, cents(net * sheet.tax_percent / 100))


def cents(amount: Decimal) -> int:
    """Whole cents, halves away from zero."""
    return int(amount.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def money(amount_cents: int, currency: str) -> str:
    """An amount in words: "1234.50 EUR"."""
    sign = "-" if amount_cents < 0 else ""
    whole, rest = divmod(abs(amount_cents), 100)
    return f"{sign}{whole}.{rest:02d} {currency}"


def _minutes(planned: PlannedJob) -> int:
    return int((planned.steps[-1].end - planned.steps[0].start).total_seconds()) // 60


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, dict):
        return {str(key): one for key, one in value.items()}
    return value
