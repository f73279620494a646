"""A shop's estimates put right by what its prints have taught."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta

from scheduler.model import Job, Printer, Scenario, Step
from scheduler.physics.heat import whole_minutes
from scheduler.quoting.learning import Learning
from scheduler.quoting.variation import PrintLuck, Variation


@dataclass(frozen=True, slots=True)
class Corrected:
    """A shop with print times as learnt, and the variation that is left around them."""

    scenario: Scenario
    variation: Variation


def corrected(scenario: Scenario, learning: Learning, base: Variation | None = None) -> Corrected:
    """Stretch or shorten every job's print time by the factor of its material.

    A plan of the uncorrected shop would put new work into gaps that are not there. What machines differ
    from the factor of a material stays in the variation. A print under way whose end is the estimate's is
    given a new end; one whose end was told anew keeps it.
    """
    factors = _by_material(learning)
    usual = learning.shop.luck.factor
    printers = {printer.id: printer for printer in scenario.printers}
    jobs = tuple(
        _job(job, factors.get(job.feeds[0].material, usual), printers, scenario) for job in scenario.jobs
    )
    cells = {
        (cell.machine, cell.material): _rest(cell.luck, factors[cell.material])
        for cell in learning.cells
        if cell.machine is not None and cell.material is not None
    }
    left = replace(base or Variation(), usual=_rest(learning.shop.luck, usual), cells=cells)
    return Corrected(replace(scenario, jobs=jobs), left)


def _by_material(learning: Learning) -> dict[str | None, float]:
    """The learnt factor of each material, its machines weighed by their prints."""
    sums: dict[str | None, tuple[float, float]] = {}
    for cell in learning.cells:
        total, weight = sums.get(cell.material, (learning.shop.luck.factor, 1.0))
        sums[cell.material] = total + cell.prints * cell.luck.factor, weight + cell.prints
    return {material: total / weight for material, (total, weight) in sums.items()}


def _rest(luck: PrintLuck, factor: float) -> PrintLuck:
    return replace(luck, factor=luck.factor / factor)


def _job(job: Job, factor: float, printers: dict[str, Printer], scenario: Scenario) -> Job:
    stretched = replace(job, print_min=max(1, round(job.print_min * factor)))
    progress = job.progress
    if progress is None or len(progress.steps) != 4 or progress.printer not in printers:
        return stretched
    speed, last = printers[progress.printer].speed_factor, progress.steps[-1]
    if last.end - last.start != timedelta(minutes=whole_minutes(job.print_min * speed)):
        return job
    end = last.start + timedelta(minutes=whole_minutes(stretched.print_min * speed))
    if end <= scenario.site.plan_start:
        return job
    return replace(
        stretched, progress=replace(progress, steps=(*progress.steps[:-1], Step("print", last.start, end)))
    )
