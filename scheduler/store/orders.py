"""What is known of an order beside its jobs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, select, update

from scheduler.store.rows.batch import Batch, table
from scheduler.store.state import count_change
from scheduler.store.tables import JobRow, OrderRow


@dataclass(frozen=True, slots=True)
class Order:
    """What a customer asked for; its jobs name it.

    Parameters
    ----------
    confidential : bool
        True if customer and part are not to be shown where visitors can read them.
    placed_at : datetime or None
        When it was recorded; ``None`` if nobody knows.
    """

    id: str
    customer: str = ""
    note: str = ""
    confidential: bool = False
    placed_at: datetime | None = None


class Orders:
    """The orders' rows, within one unit of work."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._orders = table(OrderRow)

    def list(self) -> tuple[Order, ...]:
        """All orders, by id."""
        rows = self._connection.execute(select(self._orders).order_by(self._orders.c.id))
        return tuple(Order(row.id, row.customer, row.note, row.confidential, row.placed_at) for row in rows)

    def get(self, id: str) -> Order | None:
        """One order; ``None`` if there is none with this id."""
        row = self._connection.execute(select(self._orders).where(self._orders.c.id == id)).one_or_none()
        if row is None:
            return None
        return Order(row.id, row.customer, row.note, row.confidential, row.placed_at)

    def save(self, order: Order) -> None:
        """Record what is known of an order; one change of the shop."""
        self.save_all((order,))

    def save_all(self, orders: Iterable[Order]) -> None:
        """Record what is known of many orders, as one change of the shop."""
        known = self._known()
        batch = Batch()
        for order in orders:
            values = {
                "customer": order.customer,
                "note": order.note,
                "confidential": order.confidential,
                "placed_at": order.placed_at,
            }
            if order.id in known:
                self._connection.execute(
                    update(self._orders).where(self._orders.c.id == order.id).values(**values)
                )
            else:
                batch.add(OrderRow, id=order.id, **values)
        batch.insert(self._connection)
        count_change(self._connection)

    def add_missing(self, ids: Iterable[str]) -> None:
        """Add a bare row for each id that has none, so that jobs can name it."""
        known = self._known()
        batch = Batch()
        for id in dict.fromkeys(ids):
            if id not in known:
                batch.add(OrderRow, id=id, customer="", note="", confidential=False, placed_at=None)
        batch.insert(self._connection)

    def drop_empty(self) -> None:
        """Remove the orders that no job names."""
        jobs = table(JobRow)
        asked = select(jobs.c.id).where(jobs.c.order == self._orders.c.id)
        self._connection.execute(delete(self._orders).where(~asked.exists()))

    def _known(self) -> set[str]:
        return set(self._connection.execute(select(self._orders.c.id)).scalars())
