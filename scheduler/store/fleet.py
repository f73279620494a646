"""The recorded shop: loaded whole, replaced whole, changed thing by thing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, insert, select, update

from scheduler.model import (
    Dryer,
    Job,
    Material,
    Oven,
    Printer,
    Scenario,
    Shift,
    Site,
    Spool,
)
from scheduler.store.errors import NoShop, StaleVersion
from scheduler.store.rows.batch import Batch, table
from scheduler.store.rows.dryers import DRYERS, OVENS
from scheduler.store.rows.jobs import JOBS
from scheduler.store.rows.materials import MATERIALS
from scheduler.store.rows.printers import PRINTERS
from scheduler.store.rows.site import read_site, read_under_way, write_site, write_under_way
from scheduler.store.rows.spools import SPOOLS
from scheduler.store.tables import (
    DryerRow,
    DryerRunRow,
    HeadRow,
    JobRow,
    MaterialRow,
    OrderRow,
    OvenRow,
    OvenRunRow,
    PrinterRow,
    PurgeRow,
    RecordStateRow,
    ShiftRow,
    SiteRow,
    SpoolRow,
)

#: Tables emptied when a shop is replaced, those that refer to others first; parts go with them.
_WHOLE_SHOP = (
    DryerRunRow,
    OvenRunRow,
    JobRow,
    HeadRow,
    SpoolRow,
    PurgeRow,
    MaterialRow,
    PrinterRow,
    DryerRow,
    OvenRow,
    ShiftRow,
    SiteRow,
)


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


class Fleet:
    """The shop's rows, within one unit of work. Each change makes the version one larger."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def version(self) -> int:
        """How often the recorded shop was changed; 0 while there is none."""
        return self._state()[0]

    def recording(self) -> int:
        """How often the shop was replaced as a whole; 0 while there is none."""
        return self._state()[1]

    def expect_version(self, seen: int) -> None:
        """Raise :class:`StaleVersion` if the shop is not at the version ``seen`` any more."""
        now = self.version()
        if now != seen:
            raise StaleVersion(seen, now)

    def load(self) -> Scenario:
        """The whole shop as recorded.

        Raises
        ------
        NoShop
            While none is.
        """
        connection = self._connection
        found = read_site(connection)
        if found is None:
            raise NoShop
        site, shifts = found
        return Scenario(
            site=site,
            shifts=shifts,
            materials=MATERIALS.read(connection),
            printers=PRINTERS.read(connection),
            dryers=DRYERS.read(connection),
            ovens=OVENS.read(connection),
            spools=SPOOLS.read(connection),
            jobs=JOBS.read(connection),
            under_way=read_under_way(connection),
        )

    def replace(self, scenario: Scenario) -> None:
        """Record another whole shop; what was noted of an order is kept if the order comes again."""
        connection = self._connection
        for row_class in _WHOLE_SHOP:
            connection.execute(delete(table(row_class)))
        known = {order.id for order in self.orders()}
        asked = {job.order: None for job in scenario.jobs}
        orders = table(OrderRow)
        for gone in known - asked.keys():
            connection.execute(delete(orders).where(orders.c.id == gone))
        batch = Batch()
        for order in asked:
            if order not in known:
                _write_order(batch, Order(order))
        write_site(batch, scenario.site, scenario.shifts)
        MATERIALS.write_all(batch, scenario.materials)
        SPOOLS.write_all(batch, scenario.spools)
        PRINTERS.write_all(batch, scenario.printers)
        DRYERS.write_all(batch, scenario.dryers)
        OVENS.write_all(batch, scenario.ovens)
        JOBS.write_all(batch, scenario.jobs)
        write_under_way(batch, scenario.under_way)
        batch.insert(connection)
        self._changed(replaced=True)

    def save_site(self, site: Site, shifts: tuple[Shift, ...]) -> None:
        """Record the shop's figures, purges and shifts anew."""
        for row_class in (PurgeRow, ShiftRow, SiteRow):
            self._connection.execute(delete(table(row_class)))
        batch = Batch()
        write_site(batch, site, shifts)
        batch.insert(self._connection)
        self._changed()

    def save_printer(self, printer: Printer) -> bool:
        """Record a printer in its place, or at the end; True if it is new."""
        new = PRINTERS.save(self._connection, printer.id, printer)
        self._changed()
        return new

    def save_dryer(self, dryer: Dryer) -> bool:
        """Record a dryer in its place, or at the end; True if it is new."""
        new = DRYERS.save(self._connection, dryer.id, dryer)
        self._changed()
        return new

    def save_oven(self, oven: Oven) -> bool:
        """Record an oven in its place, or at the end; True if it is new."""
        new = OVENS.save(self._connection, oven.id, oven)
        self._changed()
        return new

    def save_material(self, material: Material) -> bool:
        """Record a material in its place, or at the end; True if it is new."""
        new = MATERIALS.save(self._connection, material.id, material)
        self._changed()
        return new

    def save_spool(self, spool: Spool) -> bool:
        """Record a spool in its place, or at the end; True if it is new."""
        new = SPOOLS.save(self._connection, spool.id, spool)
        self._changed()
        return new

    def remove_printer(self, id: str) -> bool:
        """Take a printer out of the record; False if there is none."""
        return self._removed(PRINTERS.remove(self._connection, id))

    def remove_dryer(self, id: str) -> bool:
        """Take a dryer out of the record; False if there is none."""
        return self._removed(DRYERS.remove(self._connection, id))

    def remove_oven(self, id: str) -> bool:
        """Take an oven out of the record; False if there is none."""
        return self._removed(OVENS.remove(self._connection, id))

    def remove_material(self, id: str) -> bool:
        """Take a material out of the record; False if there is none."""
        return self._removed(MATERIALS.remove(self._connection, id))

    def remove_spool(self, id: str) -> bool:
        """Take a spool out of the record; False if there is none."""
        return self._removed(SPOOLS.remove(self._connection, id))

    def save_job(self, job: Job) -> bool:
        """Record a job in its place, or at the end, and its order if that is new; True if the job is new."""
        orders = table(OrderRow)
        if self._connection.execute(select(orders.c.id).where(orders.c.id == job.order)).first() is None:
            self._insert_order(Order(job.order))
        new = JOBS.save(self._connection, job.id, job)
        self._drop_empty_orders()
        self._changed()
        return new

    def save_jobs(self, jobs: tuple[Job, ...]) -> None:
        """Record many jobs, as :meth:`save_job` does each, as one change."""
        known = {order.id for order in self.orders()}
        batch = Batch()
        for name in {job.order: None for job in jobs}:
            if name not in known:
                _write_order(batch, Order(name))
        batch.insert(self._connection)
        for job in jobs:
            JOBS.save(self._connection, job.id, job)
        self._drop_empty_orders()
        self._changed()

    def remove_job(self, id: str) -> bool:
        """Take a job out of the record, and its order if it was the last; False if there is none."""
        gone = JOBS.remove(self._connection, id)
        self._drop_empty_orders()
        return self._removed(gone)

    def orders(self) -> tuple[Order, ...]:
        """All orders, by id."""
        source = table(OrderRow)
        return tuple(
            Order(row.id, row.customer, row.note, row.confidential, row.placed_at)
            for row in self._connection.execute(select(source).order_by(source.c.id))
        )

    def order(self, id: str) -> Order | None:
        """One order; ``None`` if there is none with this id."""
        source = table(OrderRow)
        row = self._connection.execute(select(source).where(source.c.id == id)).one_or_none()
        return None if row is None else Order(row.id, row.customer, row.note, row.confidential, row.placed_at)

    def save_order(self, order: Order) -> None:
        """Record what is known of an order apart from its jobs."""
        if self.order(order.id) is None:
            self._insert_order(order)
        else:
            source = table(OrderRow)
            self._connection.execute(
                update(source)
                .where(source.c.id == order.id)
                .values(
                    customer=order.customer,
                    note=order.note,
                    confidential=order.confidential,
                    placed_at=order.placed_at,
                )
            )
        self._changed()

    def _insert_order(self, order: Order) -> None:
        batch = Batch()
        _write_order(batch, order)
        batch.insert(self._connection)

    def _drop_empty_orders(self) -> None:
        orders, jobs = table(OrderRow), table(JobRow)
        asked = select(jobs.c.id).where(jobs.c.order == orders.c.id)
        self._connection.execute(delete(orders).where(~asked.exists()))

    def _state(self) -> tuple[int, int]:
        state = table(RecordStateRow)
        row = self._connection.execute(select(state.c.version, state.c.recording)).one_or_none()
        return (row.version, row.recording) if row else (0, 0)

    def _removed(self, gone: bool) -> bool:
        if gone:
            self._changed()
        return gone

    def _changed(self, *, replaced: bool = False) -> None:
        state = table(RecordStateRow)
        version, recording = self._state()
        values = {"version": version + 1, "recording": recording + replaced}
        if version == 0:
            self._connection.execute(insert(state).values(id=1, **values))
        else:
            self._connection.execute(update(state).values(**values))


def _write_order(batch: Batch, order: Order) -> None:
    batch.add(
        OrderRow,
        id=order.id,
        customer=order.customer,
        note=order.note,
        confidential=order.confidential,
        placed_at=order.placed_at,
    )
