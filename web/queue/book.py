"""What the front desk knows of an order beside its jobs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from web.services import services
from web.shop import Shop

#: Stands where a name is not needed.
MASK = "under non-disclosure"


@dataclass(frozen=True, slots=True)
class OrderHead:
    """Who ordered, what was noted, and whether names stay in the office."""

    customer: str = ""
    note: str = ""
    confidential: bool = False

    @property
    def searched(self) -> str:
        """Words that a search finds. Whoever types a masked name knows it already."""
        return self.customer

    def part(self, name: str) -> str:
        """A part's name as lists show it."""
        return MASK if self.confidential else name


def part_name(shop: Shop, job_id: str, names: bool) -> str:
    """The part of a job, masked under non-disclosure unless whoever looks may see ``names``.

    Empty for a job that the shop no longer has.
    """
    job = shop.jobs.get(job_id)
    if job is None:
        return ""
    return job.part if names else order_head(shop, job.order).part(job.part)


def order_heads(shop: Shop) -> Mapping[str, OrderHead]:
    """The heads of all recorded orders by id, read once a version of the record."""
    if "order heads" not in shop.memo:
        with services().record.reading() as unit:
            shop.memo["order heads"] = {
                order.id: OrderHead(order.customer, order.note, order.confidential)
                for order in unit.orders.list()
            }
    found = shop.memo["order heads"]
    assert isinstance(found, dict)
    return found


def order_head(shop: Shop, order_id: str) -> OrderHead:
    """The head of one order; an empty one where nothing is recorded beside its jobs."""
    return order_heads(shop).get(order_id, OrderHead())
