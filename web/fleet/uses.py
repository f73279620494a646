"""What the shown plan does with a thing, and which jobs, machines and recipes suit it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from scheduler.model import DryerRun, Material, OvenRun, PlannedJob, Printer, Reason, Spool
from web.explaining import matcher
from web.shop import Shop

#: Heat classes of machines by their hottest chamber, °C: the warmest that each name still covers.
THERMAL = (
    (None, "No heated chamber"),
    (90.0, "Warm chamber, up to 90 °C"),
    (150.0, "Hot chamber, up to 150 °C"),
)
HOTTEST = "Very hot chamber, above 150 °C"


def thermal_class(printer: Printer) -> str:
    """The heading under which a machine is listed."""
    if printer.chamber_max_c is None:
        return "No heated chamber"
    for limit, name in THERMAL[1:]:
        if limit is not None and printer.chamber_max_c <= limit:
            return name
    return HOTTEST


def by_heat(printers: Iterable[Printer]) -> dict[str, list[Printer]]:
    """Machines by heading, the coolest first."""
    names = [name for _, name in THERMAL] + [HOTTEST]
    found: dict[str, list[Printer]] = {name: [] for name in names}
    for printer in printers:
        found[thermal_class(printer)].append(printer)
    return {name: some for name, some in found.items() if some}


def week_of(shop: Shop, printer: str) -> list[PlannedJob]:
    """The jobs planned on a machine, in time order."""
    jobs = [planned for planned in shop.planned.values() if planned.printer == printer]
    return sorted(jobs, key=lambda planned: planned.steps[0].start)


def dryer_runs(shop: Shop, dryer: str) -> list[DryerRun]:
    """The planned runs of a dryer."""
    runs = shop.plan.dryer_runs if shop.plan else ()
    return sorted((run for run in runs if run.dryer == dryer), key=lambda run: run.start)


def oven_runs(shop: Shop, oven: str) -> list[OvenRun]:
    """The planned runs of an oven."""
    runs = shop.plan.oven_runs if shop.plan else ()
    return sorted((run for run in runs if run.oven == oven), key=lambda run: run.start)


@dataclass(frozen=True, slots=True)
class Stay:
    """What happens to a spool: a drying run, or a mount for a job."""

    start: datetime
    end: datetime
    run: DryerRun | None
    planned: PlannedJob | None


def stays(shop: Shop, spool: str) -> list[Stay]:
    """Where the plan has a spool, in time order."""
    found = [
        Stay(run.start, run.end, run, None)
        for run in (shop.plan.dryer_runs if shop.plan else ())
        if spool in run.spools
    ]
    for planned in shop.planned.values():
        if any(choice.spool == spool for choice in planned.feeds):
            found.append(Stay(planned.steps[0].start, planned.steps[-1].end, None, planned))
    return sorted(found, key=lambda stay: stay.start)


@dataclass(frozen=True, slots=True)
class Recipe:
    """One drying recipe of a spool: what speaks against it, dryers that could do it."""

    temp_c: float
    hours: float
    vacuum: bool
    dryers: tuple[str, ...]
    against: str


def recipes(shop: Shop, spool: Spool) -> list[Recipe]:
    """The recipes that hold for a spool's next run, with the dryers that can follow them."""
    material = shop.materials[spool.material]
    rows = spool.drying if spool.drying is not None else material.drying
    found = []
    for row in rows:
        dryers = tuple(
            dryer.id
            for dryer in shop.scenario.dryers
            if row.temp_c <= dryer.max_c
            and (dryer.fixed_c is None or dryer.fixed_c == row.temp_c)
            and (dryer.vacuum or not row.vacuum)
        )
        against = ""
        if row.temp_c > spool.body_max_c:
            against = f"the spool's body stands {spool.body_max_c:g} °C"
        elif not dryers:
            against = "no dryer does this"
        found.append(Recipe(row.temp_c, row.hours, row.vacuum, () if against else dryers, against))
    return found


@dataclass(frozen=True, slots=True)
class Suits:
    """Which machines print a material's jobs, and what the others fail on."""

    jobs: int
    machines: tuple[str, ...]
    others: tuple[tuple[str, tuple[Reason, ...]], ...]


#: Checks that tell of the material rather than of one job's size or papers.
OF_MATERIAL = frozenset({"hot_end", "bed", "chamber", "surface", "filament", "nozzle", "extraction"})


def suits(shop: Shop, material: Material) -> Suits:
    """Machines for the jobs whose part is of this material."""
    match = matcher(shop)
    jobs = [job for job in shop.scenario.jobs if job.feeds[0].material == material.id]
    machines = {printer for job in jobs for printer in match.fitting_printers(job.id)}
    others = []
    for printer in shop.scenario.printers:
        if printer.id in machines or not jobs:
            continue
        failures = [match.failures(job.id, printer.id) for job in jobs[:40]]
        least = min(failures, key=len)
        told = tuple(reason for reason in least if reason.check in OF_MATERIAL) or tuple(least)
        others.append((printer.id, told))
    ordered = tuple(printer.id for printer in shop.scenario.printers if printer.id in machines)
    return Suits(len(jobs), ordered, tuple(others))


def fitting_jobs(shop: Shop, printer: str) -> list[str]:
    """Jobs that a machine suits."""
    match = matcher(shop)
    return [job.id for job in shop.scenario.jobs if printer in match.fitting_printers(job.id)]
