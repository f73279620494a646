"""Why one printer does not fit one job."""

from __future__ import annotations

import numpy as np

from scheduler.matching import head_checks, machine_checks
from scheduler.matching.answers import CHECK_RANK, Finding
from scheduler.matching.demands import Demand
from scheduler.matching.seats import best_ways, ways
from scheduler.matching.tables import Tables
from scheduler.model import Printer, Reason


def reasons_at(demand: Demand, printer: Printer, tables: Tables) -> tuple[Reason, ...]:
    """The reasons at a printer with the best heads and nozzles, in the order of the checks."""
    found = [finding.at(printer.id) for finding in _machine_findings(demand, printer, tables)]
    found += [finding.at(printer.id) for finding in tables.stock_findings(demand)]
    if len(printer.heads) >= len(demand.job.feeds):
        found += _seat_reasons(demand, printer, tables)
    found.sort(key=lambda reason: CHECK_RANK[reason.check])
    return tuple(found)


def _machine_findings(demand: Demand, printer: Printer, tables: Tables) -> list[Finding]:
    job, together = demand.job, demand.together
    findings = [
        machine_checks.bed(together, printer.bed_max_c),
        machine_checks.chamber(together, printer.chamber_max_c, tables.site.ambient_c),
        machine_checks.surface(together, printer.surfaces),
        machine_checks.volume(job.size_mm, printer.volume_mm),
        machine_checks.extraction(together, printer.extraction),
        machine_checks.qualification(job.needs_qualified, printer.qualified),
        machine_checks.heads(len(job.feeds), len(printer.heads)),
    ]
    if not printer.unattended and together.chamber_c is not None:
        occupied = tables.occupied_min(demand, tables.fleet.class_of_id[printer.id])
        findings.append(machine_checks.staffed(occupied, tables.longest_staffed_min))
    return [finding for finding in findings if finding is not None]


def _seat_reasons(demand: Demand, printer: Printer, tables: Tables) -> list[Reason]:
    job = demand.job
    kind = tables.fleet.class_of_id[printer.id]
    exposure = tables.exposure_min(demand, kind)
    setup = tables.seats.setup_of[kind : kind + 1]
    way = int(best_ways(tables.seating(demand), setup, np.array([float(exposure)]))[0])
    reasons: list[Reason] = []
    for feed, material, (head_place, nozzle_place) in zip(
        job.feeds, demand.together.materials, ways(printer.heads, len(job.feeds))[way], strict=True
    ):
        head = printer.heads[head_place]
        nozzle = None if nozzle_place is None else head.nozzles[nozzle_place]
        findings = (
            head_checks.hot_end(material, head, nozzle),
            head_checks.filament(material, head),
            head_checks.nozzle(material, feed, head, nozzle),
            head_checks.open_time(material, head, exposure),
        )
        nozzle_id = None if nozzle is None else nozzle.id
        reasons += [finding.at(printer.id, head.id, nozzle_id) for finding in findings if finding]
    return reasons
