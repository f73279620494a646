"""What a customer reads: the same words on the printable page and in the PDF."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.model import Scenario
from scheduler.quoting.ask import Ask, AskLine
from scheduler.quoting.price import money
from scheduler.store import Quote
from web.times import day, full

CAUTIONS = (
    "Printed parts are not certified by this quote. Tags such as food contact, flammability or "
    "biocompatibility name what the filament's maker says; only your own validated process clears a part.",
    "New parts of hot polymers go on giving off vapour: air them, and store them ventilated.",
    "Parts and support left on them can be sharp and can shatter: gloves and glasses while finishing.",
    "Annealed parts shrink, and not alike in every direction; tolerances are agreed in writing.",
)


@dataclass(frozen=True, slots=True)
class Offer:
    """A quote in words for the customer: nothing of other customers, no breakdown of the price."""

    name: str
    shop: str
    made_at: datetime
    heads: tuple[tuple[str, str], ...]
    parts: tuple[tuple[str, str, str, str], ...]
    date: tuple[str, ...]
    price: tuple[tuple[str, str], ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...] = CAUTIONS


def offer_of(quote: Quote, ask: Ask, scenario: Scenario, now: datetime) -> Offer:
    """The words of a quote that was offered."""
    terms = quote.terms or {}
    net, total, currency = int(terms["net_cents"]), quote.price_cents or 0, terms["currency"]
    polymers = {material.id: material.polymer for material in scenario.materials}
    chance = round(100 * (quote.chance or 0))
    until = quote.held_until or quote.valid_until
    heads = [("For", quote.customer)]
    if quote.contact:
        heads.append(("Attention", quote.contact))
    heads.append(("Given", full(quote.promised_at)))
    if quote.state == "accepted":
        heads.append(("State", "accepted"))
    elif until is not None:
        heads.append(("Stands until", full(until)))
    return Offer(
        name=quote.name,
        shop=scenario.site.name,
        made_at=quote.promised_at or now,
        heads=tuple(heads),
        parts=tuple(
            (line.part, str(line.quantity), polymers.get(line.material, line.material), _more(line))
            for line in ask.lines
        ),
        date=(
            f"Ready at the shop by {full(quote.promised_for)} ({scenario.site.timezone}).",
            f"This date is kept in about {chance} of 100 cases like this one, as far as the shop's figures "
            "tell: print times, failures, breakdowns and absences vary. It is the day the parts are ready, "
            "carriage not included.",
        ),
        price=(
            ("Net", money(net, currency)),
            (f"{terms['tax_name']} {terms['tax_percent']} %", money(total - net, currency)),
            ("To pay", money(total, currency)),
        ),
        assumptions=(
            "Print time and filament are as given with the request; other figures make another quote.",
            "Filament is dried, heated and cooled as its data sheet and the machines' manuals ask.",
            _kept(quote),
            f"The customer's wish was {day(ask.wanted) if ask.wanted else 'as soon as may be'}.",
        ),
    )


def _kept(quote: Quote) -> str:
    if quote.state == "accepted":
        return "Capacity is in the shop's plan."
    if quote.held_until is not None:
        return f"Capacity is kept for you until {full(quote.held_until)}."
    return "Capacity is not kept for you before you accept."


def _more(line: AskLine) -> str:
    words = [" × ".join(f"{side:g}" for side in line.size_mm) + " mm"]
    if line.anneal:
        words.append("annealed")
    if line.one_lot:
        words.append("one lot")
    words += [f"with {tag}" for tag in line.certs]
    return ", ".join(words)
