"""Estimates put right by what prints have taught, before they are planned."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from scheduler.model import Job
from scheduler.quoting.ask import Ask
from scheduler.quoting.learning import Learning
from scheduler.quoting.variation import Variation

#: Factors are planned with in whole hundredths, so that a plate's minutes do not change with every print.
DIGITS = 2


def planned_factors(learning: Learning, materials: Iterable[str]) -> dict[str, float]:
    """By what factor estimates of each material are to be planned longer, or shorter.

    Machines are weighed by their prints: which one a plate goes to is not known yet. What machines differ
    from their material stays in the chances. A material that nobody has printed gets the shop's factor.
    Materials whose estimates are right are left out.
    """
    usual = learning.shop.luck.factor
    sums: dict[str | None, tuple[float, float]] = {}
    for cell in learning.cells:
        total, weight = sums.get(cell.material, (usual, 1.0))
        sums[cell.material] = total + cell.prints * cell.luck.factor, weight + cell.prints
    known = {material: total / weight for material, (total, weight) in sums.items()}
    factors = {material: round(known.get(material, usual), DIGITS) for material in materials}
    return {material: factor for material, factor in factors.items() if factor != 1}


def as_planned(ask: Ask, factors: Mapping[str, float]) -> Ask:
    """A request with the print times that are planned for it."""
    return replace(
        ask,
        lines=tuple(
            replace(line, print_min=line.print_min * factors.get(line.material, 1.0)) for line in ask.lines
        ),
    )


def planned_jobs(jobs: Iterable[Job], factors: Mapping[tuple[str, str], float]) -> dict[str, float]:
    """By job, how much longer than estimated it is planned; ``factors`` by order and material."""
    found = {job.id: factors.get((job.order, job.feeds[0].material), 1.0) for job in jobs}
    return {job: factor for job, factor in found.items() if factor != 1}


def varied(variation: Variation, planned: Mapping[str, float]) -> Variation:
    """``variation`` around plates that are planned longer than estimated, besides those it knows of."""
    return replace(variation, planned={**variation.planned, **planned})


def told(factors: Mapping[str, float], learning: Learning) -> tuple[str, ...]:
    """What is planned otherwise than estimated, a sentence for each material."""
    sentences = []
    for material, factor in sorted(factors.items()):
        prints = sum(cell.prints for cell in learning.cells if cell.material == material)
        why = f"as {prints} of them did" if prints else "as the shop's other prints did"
        sentences.append(
            f"Prints of {material} are planned {abs(round(100 * (factor - 1)))} %"
            f" {'longer' if factor > 1 else 'shorter'} than estimated, {why}."
        )
    return tuple(sentences)
