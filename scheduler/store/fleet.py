"""The recorded shop: loaded whole, replaced whole, changed thing by thing."""

from __future__ import annotations

from sqlalchemy import Connection, delete

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
from scheduler.store.orders import Orders
from scheduler.store.rows.batch import Batch, table
from scheduler.store.rows.dryers import DRYERS, OVENS
from scheduler.store.rows.jobs import JOBS
from scheduler.store.rows.materials import MATERIALS
from scheduler.store.rows.printers import PRINTERS
from scheduler.store.rows.site import read_site, read_under_way, write_site, write_under_way
from scheduler.store.rows.spools import SPOOLS
from scheduler.store.state import count_change, shop_state
from scheduler.store.tables import (
    DryerRow,
    DryerRunRow,
    HeadRow,
    JobRow,
    MaterialRow,
    OvenRow,
    OvenRunRow,
    PrinterRow,
    PurgeRow,
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


class Fleet:
    """The shop's rows, within one unit of work. Each change makes the version one larger."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._orders = Orders(connection)

    def version(self) -> int:
        """How often the recorded shop was changed; 0 while there is none."""
        return shop_state(self._connection)[0]

    def recording(self) -> int:
        """How often the shop was replaced as a whole; 0 while there is none."""
        return shop_state(self._connection)[1]

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
        self._orders.add_missing(job.order for job in scenario.jobs)
        batch = Batch()
        write_site(batch, scenario.site, scenario.shifts)
        MATERIALS.write_all(batch, scenario.materials)
        SPOOLS.write_all(batch, scenario.spools)
        PRINTERS.write_all(batch, scenario.printers)
        DRYERS.write_all(batch, scenario.dryers)
        OVENS.write_all(batch, scenario.ovens)
        JOBS.write_all(batch, scenario.jobs)
        write_under_way(batch, scenario.under_way)
        batch.insert(connection)
        self._orders.drop_empty()
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
        self._orders.add_missing((job.order,))
        new = JOBS.save(self._connection, job.id, job)
        self._orders.drop_empty()
        self._changed()
        return new

    def save_jobs(self, jobs: tuple[Job, ...]) -> None:
        """Record many jobs, as :meth:`save_job` does each, as one change."""
        self._orders.add_missing(job.order for job in jobs)
        JOBS.save_all(self._connection, tuple((job.id, job) for job in jobs))
        self._orders.drop_empty()
        self._changed()

    def remove_job(self, id: str) -> bool:
        """Take a job out of the record, and its order if it was the last; False if there is none."""
        gone = JOBS.remove(self._connection, id)
        self._orders.drop_empty()
        return self._removed(gone)

    def _removed(self, gone: bool) -> bool:
        if gone:
            self._changed()
        return gone

    def _changed(self, *, replaced: bool = False) -> None:
        count_change(self._connection, replaced=replaced)
