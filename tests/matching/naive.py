"""A plain twin of the matcher, written from the contract alone: slow, no classes, no arrays.

It shares nothing with `scheduler.matching` or `scheduler.physics`, and answers with names of checks.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from scheduler.model import Head, Job, Material, Nozzle, Printer, Scenario, Spool

ORDER = [
    "hot_end",
    "bed",
    "chamber",
    "surface",
    "filament",
    "nozzle",
    "volume",
    "extraction",
    "qualification",
    "heads",
    "spool",
    "oven",
    "open_time",
    "staffed",
]


@dataclass(frozen=True)
class Miss:
    """One failed check, and the head and nozzle that fail it where it is theirs."""

    check: str
    head: str | None = None
    nozzle: str | None = None


def materials_of(scenario: Scenario, job: Job) -> list[Material]:
    by_id = {m.id: m for m in scenario.materials}
    return [by_id[feed.material] for feed in job.feeds]


def print_min(job: Job, printer: Printer) -> int:
    return math.ceil(job.print_min * printer.speed_factor - 1e-6)


def chamber_set_c(scenario: Scenario, job: Job, printer: Printer) -> float:
    materials = materials_of(scenario, job)
    if printer.chamber_max_c is None:
        return scenario.site.ambient_c
    lo = max(m.chamber_c.lo for m in materials)
    hi = min(m.chamber_c.hi for m in materials)
    wanted = materials[0].chamber_set_c
    wanted = lo if wanted < lo else hi if wanted > hi else wanted
    wanted = printer.chamber_max_c if wanted > printer.chamber_max_c else wanted
    return scenario.site.ambient_c if wanted <= scenario.site.ambient_c else wanted


def cooldown_min(scenario: Scenario, job: Job, printer: Printer) -> int:
    """Counts minutes up until the chamber is cool enough."""
    materials = materials_of(scenario, job)
    ambient = scenario.site.ambient_c
    tau = printer.cool_tau_min
    start = chamber_set_c(scenario, job, printer)
    release = min(m.release_c for m in materials)
    cap = min((m.max_cool_c_per_min for m in materials if m.max_cool_c_per_min is not None), default=math.inf)
    linear_min = max(0.0, ((start - ambient) - cap * tau) / cap) if cap < math.inf else 0.0

    def temperature(minute: int) -> float:
        if minute <= linear_min:
            return start - cap * minute if linear_min > 0 else start
        knee = start - cap * linear_min if linear_min > 0 else start
        return ambient + (knee - ambient) * math.exp(-(minute - linear_min) / tau)

    minute = 0
    while temperature(minute) > release + 1e-6:
        minute += 1
    return max(minute, printer.bed_cool_min)


def longest_staffed(scenario: Scenario) -> int:
    """Counts staffed minutes one by one."""
    minutes: set[int] = set()
    for shift in scenario.shifts:
        if shift.hands > 0:
            start, end = scenario.site.minute(shift.start), scenario.site.minute(shift.end)
            minutes.update(range(max(0, start), max(0, end)))
    longest = run = 0
    for minute in range(max(minutes, default=-1) + 1):
        run = run + 1 if minute in minutes else 0
        longest = max(longest, run)
    return longest


def spool_serves(scenario: Scenario, job: Job, feed: int, spool: Spool) -> bool:
    wants = job.feeds[feed]
    if spool.material != wants.material or spool.grams < wants.grams:
        return False
    if set(wants.certs) - set(spool.certs):
        return False
    material = next(m for m in scenario.materials if m.id == spool.material)
    if len(material.drying) == 0:
        return True
    if any(spool.id in run.spools for run in scenario.under_way.dryer_runs):
        return True
    if spool.dried and (material.open_time_min is None or not spool.exposed_min > material.open_time_min):
        return True
    for row in material.drying if spool.drying is None else spool.drying:
        for dryer in scenario.dryers:
            hot_enough = not row.temp_c > dryer.max_c
            body_bears = not row.temp_c > spool.body_max_c
            air_right = not (row.vacuum and not dryer.vacuum)
            setting_right = dryer.kind == "batch" or row.temp_c == dryer.fixed_c
            if hot_enough and body_bears and air_right and setting_right:
                return True
    return False


def spool_misses(scenario: Scenario, job: Job) -> list[Miss]:
    serving = [
        {s.id for s in scenario.spools if spool_serves(scenario, job, feed, s)}
        for feed in range(len(job.feeds))
    ]
    empty = [Miss("spool") for ids in serving if not ids]
    if empty:
        return empty
    for chosen in itertools.product(*serving):
        if len(set(chosen)) == len(chosen):
            return []
    return [Miss("spool")]


def printer_misses(scenario: Scenario, job: Job, printer: Printer) -> list[Miss]:
    """Everything but checks 1, 5, 6 and 13."""
    materials = materials_of(scenario, job)
    site = scenario.site
    names: list[str] = []
    bed_lo, bed_hi = max(m.bed_c.lo for m in materials), min(m.bed_c.hi for m in materials)
    if bed_lo > bed_hi or bed_lo > printer.bed_max_c:
        names.append("bed")
    lo, hi = max(m.chamber_c.lo for m in materials), min(m.chamber_c.hi for m in materials)
    if lo > hi or lo > (site.ambient_c if printer.chamber_max_c is None else printer.chamber_max_c):
        names.append("chamber")
    if any(m.surfaces for m in materials):
        good = set(printer.surfaces)
        for m in materials:
            if m.surfaces:
                good &= set(m.surfaces)
        if not good:
            names.append("surface")
    x, y, z = job.size_mm
    if not any(
        a <= printer.volume_mm[0] and b <= printer.volume_mm[1] and z <= printer.volume_mm[2]
        for a, b in ((x, y), (y, x))
    ):
        names.append("volume")
    if any(m.needs_extraction for m in materials) and not printer.extraction:
        names.append("extraction")
    if set(job.needs_qualified) - set(printer.qualified):
        names.append("qualification")
    if len(printer.heads) < len(job.feeds):
        names.append("heads")
    if job.anneal:
        program = materials[0].anneal
        if program is None or all(program.temp_c > oven.max_c for oven in scenario.ovens):
            names.append("oven")
    if not printer.unattended and lo <= hi:
        hot = printer.bed_heat_min + max(m.soak_min for m in materials) + site.start_min
        hot += print_min(job, printer) + cooldown_min(scenario, job, printer)
        if hot > longest_staffed(scenario):
            names.append("staffed")
    return [Miss(name) for name in names] + spool_misses(scenario, job)


def seat_misses(
    scenario: Scenario, job: Job, printer: Printer, feed: int, head: Head, nozzle: Nozzle | None
) -> list[Miss]:
    """Checks 1, 5, 6 and 13 of one feed on one head with one nozzle."""
    materials = materials_of(scenario, job)
    material, wants, site = materials[feed], job.feeds[feed], scenario.site
    names = []
    limit = head.max_c if nozzle is None or nozzle.max_c > head.max_c else nozzle.max_c
    if material.nozzle_c.lo > limit:
        names.append("hot_end")
    if material.filament_mm != head.filament_mm:
        names.append("filament")
    if (
        nozzle is None
        or not any(size == nozzle.size_mm for size in wants.nozzle_mm)
        or nozzle.size_mm < material.min_nozzle_mm
        or (material.abrasive and not nozzle.hardened)
        or (material.corrosive and not nozzle.corrosion_proof)
    ):
        names.append("nozzle")
    if material.drying and material.open_time_min is not None and not head.dry_feed:
        out = site.plate_min + printer.bed_heat_min + max(m.soak_min for m in materials)
        out += site.start_min + print_min(job, printer)
        if out > material.open_time_min:
            names.append("open_time")
    return [Miss(name, head.id, nozzle.id if nozzle else None) for name in names]


def judge(
    scenario: Scenario, job: Job, printer: Printer
) -> tuple[list[Miss], list[tuple[tuple[str, str], ...]]]:
    """The misses of the best seats, in the order of the checks, and all seats that pass everything."""
    fixed = printer_misses(scenario, job, printer)
    best: list[Miss] | None = None
    passing = []
    for heads in itertools.permutations(printer.heads, len(job.feeds)):
        for nozzles in itertools.product(*[head.nozzles or (None,) for head in heads]):
            misses = list(fixed)
            for feed, (head, nozzle) in enumerate(zip(heads, nozzles, strict=True)):
                misses += seat_misses(scenario, job, printer, feed, head, nozzle)
            if not misses:
                passing.append(tuple((h.id, n.id if n else "") for h, n in zip(heads, nozzles, strict=True)))
            badness = (len({m.check for m in misses}), len(misses))
            if best is None or badness < (len({m.check for m in best}), len(best)):
                best = misses
    if best is None:
        best = fixed
    return sorted(best, key=lambda miss: ORDER.index(miss.check)), passing
