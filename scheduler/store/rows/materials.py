"""Materials as rows, and back."""

from __future__ import annotations

from sqlalchemy import Connection

from scheduler.model import Anneal, DryingRow, Material, Span
from scheduler.store.rows.batch import Batch, grouped, rows_of, tags_by
from scheduler.store.rows.concept import Concept
from scheduler.store.tables import MaterialDryingRow, MaterialRow, MaterialSurfaceRow


def _write(batch: Batch, material: Material, position: int) -> None:
    anneal = material.anneal
    batch.add(
        MaterialRow,
        id=material.id,
        position=position,
        polymer=material.polymer,
        filled=material.filled,
        filament_mm=material.filament_mm,
        nozzle_lo_c=material.nozzle_c.lo,
        nozzle_hi_c=material.nozzle_c.hi,
        bed_lo_c=material.bed_c.lo,
        bed_hi_c=material.bed_c.hi,
        chamber_lo_c=material.chamber_c.lo,
        chamber_hi_c=material.chamber_c.hi,
        chamber_set_c=material.chamber_set_c,
        abrasive=material.abrasive,
        corrosive=material.corrosive,
        needs_extraction=material.needs_extraction,
        min_nozzle_mm=material.min_nozzle_mm,
        open_time_min=material.open_time_min,
        soak_min=material.soak_min,
        release_c=material.release_c,
        max_cool_c_per_min=material.max_cool_c_per_min,
        anneal_temp_c=anneal.temp_c if anneal else None,
        anneal_hours=anneal.hours if anneal else None,
    )
    batch.tags(MaterialSurfaceRow, material.surfaces, material=material.id)
    for place, row in enumerate(material.drying):
        batch.add(
            MaterialDryingRow,
            material=material.id,
            position=place,
            temp_c=row.temp_c,
            hours=row.hours,
            vacuum=row.vacuum,
        )


def _read(connection: Connection) -> tuple[Material, ...]:
    surfaces = tags_by(connection, MaterialSurfaceRow, "material")
    drying = grouped(connection, MaterialDryingRow, "material")
    return tuple(
        Material(
            id=row.id,
            polymer=row.polymer,
            filled=row.filled,
            filament_mm=row.filament_mm,
            nozzle_c=Span(row.nozzle_lo_c, row.nozzle_hi_c),
            bed_c=Span(row.bed_lo_c, row.bed_hi_c),
            chamber_c=Span(row.chamber_lo_c, row.chamber_hi_c),
            chamber_set_c=row.chamber_set_c,
            surfaces=surfaces[row.id],
            abrasive=row.abrasive,
            corrosive=row.corrosive,
            needs_extraction=row.needs_extraction,
            min_nozzle_mm=row.min_nozzle_mm,
            drying=tuple(DryingRow(d.temp_c, d.hours, d.vacuum) for d in drying[row.id]),
            open_time_min=row.open_time_min,
            soak_min=row.soak_min,
            release_c=row.release_c,
            max_cool_c_per_min=row.max_cool_c_per_min,
            anneal=None if row.anneal_temp_c is None else Anneal(row.anneal_temp_c, row.anneal_hours),
        )
        for row in rows_of(connection, MaterialRow)
    )


MATERIALS: Concept[Material] = Concept(
    MaterialRow, ((MaterialSurfaceRow, "material"), (MaterialDryingRow, "material")), _write, _read
)
