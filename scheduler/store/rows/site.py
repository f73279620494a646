"""The site, its shifts and purges, and begun runs, as rows and back."""

from __future__ import annotations

from dataclasses import fields

from sqlalchemy import Connection

from scheduler.model import DryerRun, OvenRun, Purge, Shift, Site, UnderWay
from scheduler.store.rows.batch import Batch, grouped, rows_of
from scheduler.store.tables import (
    DryerRunRow,
    DryerRunSpoolRow,
    OvenRunJobRow,
    OvenRunRow,
    PurgeRow,
    ShiftRow,
    SiteRow,
)

_FIGURES = tuple(field.name for field in fields(Site) if field.name != "purges")


def write_site(batch: Batch, site: Site, shifts: tuple[Shift, ...]) -> None:
    """Add the rows of the shop's figures, purges and shifts."""
    batch.add(SiteRow, id=1, **{name: getattr(site, name) for name in _FIGURES})
    for place, purge in enumerate(site.purges):
        batch.add(PurgeRow, position=place, source=purge.source, target=purge.target, minutes=purge.minutes)
    for place, shift in enumerate(shifts):
        batch.add(ShiftRow, position=place, start=shift.start, end=shift.end, hands=shift.hands)


def read_site(connection: Connection) -> tuple[Site, tuple[Shift, ...]] | None:
    """The shop's figures and shifts; ``None`` while no shop is recorded."""
    found = rows_of(connection, SiteRow, order="id")
    if not found:
        return None
    purges = tuple(Purge(p.source, p.target, p.minutes) for p in rows_of(connection, PurgeRow))
    site = Site(purges=purges, **{name: getattr(found[0], name) for name in _FIGURES})
    return site, tuple(Shift(s.start, s.end, s.hands) for s in rows_of(connection, ShiftRow))


def write_under_way(batch: Batch, under_way: UnderWay) -> None:
    """Add the rows of begun dryer and oven runs."""
    for place, drying in enumerate(under_way.dryer_runs):
        batch.add(
            DryerRunRow,
            id=drying.id,
            position=place,
            dryer=drying.dryer,
            setpoint_c=drying.setpoint_c,
            start=drying.start,
            end=drying.end,
        )
        for slot, spool in enumerate(drying.spools):
            batch.add(DryerRunSpoolRow, run=drying.id, position=slot, spool=spool)
    for place, annealing in enumerate(under_way.oven_runs):
        batch.add(
            OvenRunRow,
            id=annealing.id,
            position=place,
            oven=annealing.oven,
            temp_c=annealing.temp_c,
            start=annealing.start,
            end=annealing.end,
        )
        for slot, job in enumerate(annealing.jobs):
            batch.add(OvenRunJobRow, run=annealing.id, position=slot, job=job)


def read_under_way(connection: Connection) -> UnderWay:
    """The begun dryer and oven runs."""
    spools = grouped(connection, DryerRunSpoolRow, "run")
    jobs = grouped(connection, OvenRunJobRow, "run")
    return UnderWay(
        tuple(
            DryerRun(
                row.id, row.dryer, row.setpoint_c, row.start, row.end, tuple(s.spool for s in spools[row.id])
            )
            for row in rows_of(connection, DryerRunRow)
        ),
        tuple(
            OvenRun(row.id, row.oven, row.temp_c, row.start, row.end, tuple(j.job for j in jobs[row.id]))
            for row in rows_of(connection, OvenRunRow)
        ),
    )
