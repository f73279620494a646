"""Printers as rows, and back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Row

from scheduler.model import Downtime, Head, Mounted, Nozzle, Printer
from scheduler.store.rows.batch import Batch, grouped, rows_of, tags_by
from scheduler.store.rows.concept import Concept
from scheduler.store.tables import (
    HeadRow,
    NozzleRow,
    PrinterDowntimeRow,
    PrinterQualificationRow,
    PrinterRow,
    PrinterSurfaceRow,
)


def _write(batch: Batch, printer: Printer, position: int) -> None:
    x, y, z = printer.volume_mm
    batch.add(
        PrinterRow,
        id=printer.id,
        position=position,
        bed_max_c=printer.bed_max_c,
        chamber_max_c=printer.chamber_max_c,
        chamber_reach_c=printer.chamber_reach_c,
        heat_tau_min=printer.heat_tau_min,
        cool_tau_min=printer.cool_tau_min,
        bed_heat_min=printer.bed_heat_min,
        bed_cool_min=printer.bed_cool_min,
        volume_x_mm=x,
        volume_y_mm=y,
        volume_z_mm=z,
        extraction=printer.extraction,
        unattended=printer.unattended,
        speed_factor=printer.speed_factor,
        chamber_now_c=printer.chamber_now_c,
        free_at=printer.free_at,
    )
    batch.tags(PrinterSurfaceRow, printer.surfaces, printer=printer.id)
    batch.tags(PrinterQualificationRow, printer.qualified, printer=printer.id)
    for place, down in enumerate(printer.downtime):
        batch.add(
            PrinterDowntimeRow,
            printer=printer.id,
            position=place,
            start=down.start,
            end=down.end,
            reason=down.reason,
        )
    for place, head in enumerate(printer.heads):
        _write_head(batch, printer.id, head, place)


def _write_head(batch: Batch, printer: str, head: Head, position: int) -> None:
    batch.add(
        HeadRow,
        printer=printer,
        id=head.id,
        position=position,
        max_c=head.max_c,
        filament_mm=head.filament_mm,
        dry_feed=head.dry_feed,
        mounted_spool=head.mounted.spool,
        mounted_material=head.mounted.material,
        mounted_nozzle=head.mounted.nozzle,
    )
    for place, nozzle in enumerate(head.nozzles):
        batch.add(
            NozzleRow,
            printer=printer,
            head=head.id,
            id=nozzle.id,
            position=place,
            size_mm=nozzle.size_mm,
            hardened=nozzle.hardened,
            corrosion_proof=nozzle.corrosion_proof,
            max_c=nozzle.max_c,
        )


def _read(connection: Connection) -> tuple[Printer, ...]:
    surfaces = tags_by(connection, PrinterSurfaceRow, "printer")
    qualified = tags_by(connection, PrinterQualificationRow, "printer")
    downtime = grouped(connection, PrinterDowntimeRow, "printer")
    heads = grouped(connection, HeadRow, "printer")
    nozzles = grouped(connection, NozzleRow, "printer", "head")
    return tuple(
        Printer(
            id=row.id,
            bed_max_c=row.bed_max_c,
            chamber_max_c=row.chamber_max_c,
            chamber_reach_c=row.chamber_reach_c,
            heat_tau_min=row.heat_tau_min,
            cool_tau_min=row.cool_tau_min,
            bed_heat_min=row.bed_heat_min,
            bed_cool_min=row.bed_cool_min,
            volume_mm=(row.volume_x_mm, row.volume_y_mm, row.volume_z_mm),
            surfaces=surfaces[row.id],
            extraction=row.extraction,
            unattended=row.unattended,
            speed_factor=row.speed_factor,
            qualified=qualified[row.id],
            chamber_now_c=row.chamber_now_c,
            free_at=row.free_at,
            downtime=tuple(Downtime(d.start, d.end, d.reason) for d in downtime[row.id]),
            heads=tuple(_head(head, nozzles) for head in heads[row.id]),
        )
        for row in rows_of(connection, PrinterRow)
    )


def _head(row: Row[Any], nozzles: Mapping[Any, list[Row[Any]]]) -> Head:
    return Head(
        id=row.id,
        max_c=row.max_c,
        filament_mm=row.filament_mm,
        dry_feed=row.dry_feed,
        mounted=Mounted(row.mounted_spool, row.mounted_material, row.mounted_nozzle),
        nozzles=tuple(
            Nozzle(n.id, n.size_mm, n.hardened, n.corrosion_proof, n.max_c)
            for n in nozzles[(row.printer, row.id)]
        ),
    )


PRINTERS: Concept[Printer] = Concept(
    PrinterRow,
    (
        (PrinterSurfaceRow, "printer"),
        (PrinterQualificationRow, "printer"),
        (PrinterDowntimeRow, "printer"),
        (HeadRow, "printer"),
    ),
    _write,
    _read,
)
