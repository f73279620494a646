"""Spools as rows, and back."""

from __future__ import annotations

from sqlalchemy import Connection

from scheduler.model import DryingRow, Spool
from scheduler.store.rows.batch import Batch, grouped, rows_of, tags_by
from scheduler.store.rows.concept import Concept
from scheduler.store.tables import SpoolCertRow, SpoolDryingRow, SpoolRow


def _write(batch: Batch, spool: Spool, position: int) -> None:
    batch.add(
        SpoolRow,
        id=spool.id,
        position=position,
        material=spool.material,
        lot=spool.lot,
        grams=spool.grams,
        body_max_c=spool.body_max_c,
        available_from=spool.available_from,
        dried=spool.dried,
        exposed_min=spool.exposed_min,
        own_drying=spool.drying is not None,
    )
    batch.tags(SpoolCertRow, spool.certs, spool=spool.id)
    for place, row in enumerate(spool.drying or ()):
        batch.add(
            SpoolDryingRow,
            spool=spool.id,
            position=place,
            temp_c=row.temp_c,
            hours=row.hours,
            vacuum=row.vacuum,
        )


def _read(connection: Connection) -> tuple[Spool, ...]:
    certs = tags_by(connection, SpoolCertRow, "spool")
    drying = grouped(connection, SpoolDryingRow, "spool")
    return tuple(
        Spool(
            id=row.id,
            material=row.material,
            lot=row.lot,
            grams=row.grams,
            body_max_c=row.body_max_c,
            certs=certs[row.id],
            available_from=row.available_from,
            dried=row.dried,
            exposed_min=row.exposed_min,
            drying=tuple(DryingRow(d.temp_c, d.hours, d.vacuum) for d in drying[row.id])
            if row.own_drying
            else None,
        )
        for row in rows_of(connection, SpoolRow)
    )


SPOOLS: Concept[Spool] = Concept(
    SpoolRow, ((SpoolCertRow, "spool"), (SpoolDryingRow, "spool")), _write, _read
)
