"""The order book as jobs, one a plate, and what the front desk knows beside them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from demo_fleet.calendar import local_instant, working_day
from demo_fleet.dice import Dice
from demo_fleet.order_book import ORDERS, Line, Order
from scheduler.model import Feed, Job, Pin

#: Plates held to a machine and an hour: a reprint for a certificate, and a customer who comes to watch.
PINS: dict[str, tuple[str, tuple[int, int, int]]] = {
    "2234-1": ("mathilde", (4, 10, 0)),
    "2222-1": ("leopoldine", (2, 10, 30)),
}


@dataclass(frozen=True, slots=True)
class OrderInfo:
    """Who ordered, what the front desk noted, and whether the customer's name stays in the office."""

    customer: str
    note: str
    confidential: bool


def orders_info() -> dict[str, OrderInfo]:
    """Customer, note and confidentiality of the demo's orders by order id."""
    return {order.id: OrderInfo(order.customer, order.note, order.confidential) for order in ORDERS}


def _feeds(line: Line, grams: float) -> tuple[Feed, ...]:
    part = Feed(line.material, grams, line.nozzle_mm, line.certs)
    if line.support is None:
        return (part,)
    material, support_grams = line.support
    return (part, Feed(material, support_grams, (0.4,), ()))


def _jobs_of(order: Order, zone: ZoneInfo, today: date, dice: Dice) -> list[Job]:
    def at(day: int, hour: int, minute: int = 0) -> datetime:
        return local_instant(zone, working_day(today, day), hour, minute)

    jobs: list[Job] = []
    for line in order.lines:
        first = f"{order.id}-{len(jobs) + 1}"
        for _ in range(line.plates):
            name = f"{order.id}-{len(jobs) + 1}"
            # Two plates of one part never slice alike: supports and seams differ by a few per cent.
            minutes = 5 * round(line.hours * 12 * dice.between(0.97, 1.05))
            grams = 5 * round(line.grams / 5 * dice.between(0.97, 1.03))
            pin = PINS.get(name)
            jobs.append(
                Job(
                    id=name,
                    order=order.id,
                    part=line.part,
                    quantity=line.quantity,
                    print_min=minutes,
                    size_mm=line.size_mm,
                    needs_qualified=line.qualified,
                    anneal=line.anneal,
                    finish_min=line.finish_min,
                    release=local_instant(zone, today, 6) if order.release is None else at(*order.release),
                    due=None if order.due is None else at(*order.due),
                    weight=order.weight,
                    same_lot_as=first if line.one_lot and name != first else None,
                    pinned=None if pin is None else Pin(pin[0], at(*pin[1])),
                    feeds=_feeds(line, grams),
                    progress=None,
                )
            )
    return jobs


def jobs(zone: ZoneInfo, today: date, seed: int) -> tuple[Job, ...]:
    """The hundred and ten plates of the order book, none begun yet."""
    dice = Dice(f"demo shop {seed}")
    return tuple(job for order in ORDERS for job in _jobs_of(order, zone, today, dice))
