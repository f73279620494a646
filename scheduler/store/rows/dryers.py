"""Dryers and ovens as rows, and back."""

from __future__ import annotations

from sqlalchemy import Connection

from scheduler.model import Downtime, Dryer, Oven
from scheduler.store.rows.batch import Batch, grouped, rows_of
from scheduler.store.rows.concept import Concept
from scheduler.store.tables import DryerDowntimeRow, DryerRow, OvenDowntimeRow, OvenRow


def _write_dryer(batch: Batch, dryer: Dryer, position: int) -> None:
    batch.add(
        DryerRow,
        id=dryer.id,
        position=position,
        kind=dryer.kind,
        max_c=dryer.max_c,
        fixed_c=dryer.fixed_c,
        vacuum=dryer.vacuum,
        slots=dryer.slots,
        warmup_min=dryer.warmup_min,
    )
    for place, down in enumerate(dryer.downtime):
        batch.add(
            DryerDowntimeRow,
            dryer=dryer.id,
            position=place,
            start=down.start,
            end=down.end,
            reason=down.reason,
        )


def _read_dryers(connection: Connection) -> tuple[Dryer, ...]:
    downtime = grouped(connection, DryerDowntimeRow, "dryer")
    return tuple(
        Dryer(
            id=row.id,
            kind=row.kind,
            max_c=row.max_c,
            fixed_c=row.fixed_c,
            vacuum=row.vacuum,
            slots=row.slots,
            warmup_min=row.warmup_min,
            downtime=tuple(Downtime(d.start, d.end, d.reason) for d in downtime[row.id]),
        )
        for row in rows_of(connection, DryerRow)
    )


def _write_oven(batch: Batch, oven: Oven, position: int) -> None:
    batch.add(OvenRow, id=oven.id, position=position, max_c=oven.max_c, slots=oven.slots)
    for place, down in enumerate(oven.downtime):
        batch.add(
            OvenDowntimeRow,
            oven=oven.id,
            position=place,
            start=down.start,
            end=down.end,
            reason=down.reason,
        )


def _read_ovens(connection: Connection) -> tuple[Oven, ...]:
    downtime = grouped(connection, OvenDowntimeRow, "oven")
    return tuple(
        Oven(
            id=row.id,
            max_c=row.max_c,
            slots=row.slots,
            downtime=tuple(Downtime(d.start, d.end, d.reason) for d in downtime[row.id]),
        )
        for row in rows_of(connection, OvenRow)
    )


DRYERS: Concept[Dryer] = Concept(DryerRow, ((DryerDowntimeRow, "dryer"),), _write_dryer, _read_dryers)
OVENS: Concept[Oven] = Concept(OvenRow, ((OvenDowntimeRow, "oven"),), _write_oven, _read_ovens)
