"""What will be late and what cannot be made, with the short reason of each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from web.explaining import reason
from web.queue.book import part_name
from web.reasons import cannot_be_made, short_reason
from web.shop import Shop

#: How many late jobs the board explains; the queue tells of all.
TOLD = 8


@dataclass(frozen=True, slots=True)
class LateJob:
    """A job done after due."""

    job: str
    part: str
    late_min: int
    due: datetime | None
    done: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class Placeless:
    """A job without a place; ``never`` if nothing of the shop suits it."""

    job: str
    part: str
    reason: str
    never: bool


def late_ids(shop: Shop) -> tuple[str, ...]:
    """Late jobs, the longest late first."""
    late = [planned for planned in shop.planned.values() if planned.late_min > 0]
    return tuple(planned.job for planned in sorted(late, key=lambda late: (-late.late_min, late.job)))


def late_jobs(shop: Shop, names: bool, most: int = TOLD) -> tuple[LateJob, ...]:
    """The worst late jobs, explained; parts under non-disclosure named only for who may see ``names``."""
    told = []
    for id in late_ids(shop)[:most]:
        planned, job = shop.planned[id], shop.jobs.get(id)
        told.append(
            LateJob(
                id,
                part_name(shop, id, names),
                planned.late_min,
                job.due if job else None,
                planned.done,
                reason(shop, id),
            )
        )
    return tuple(told)


def placeless_hours(shop: Shop) -> float:
    """The part of the plan's late hours that stands for jobs without a place, weighted hours."""
    if shop.plan is None:
        return 0.0
    placed = sum(
        shop.jobs[planned.job].weight * planned.late_min / 60
        for planned in shop.plan.jobs
        if planned.job in shop.jobs
    )
    return max(0.0, shop.plan.late_cost - placed)


def placeless_jobs(shop: Shop, names: bool) -> tuple[Placeless, ...]:
    """Jobs that the plan could not place, those that nothing suits first."""
    found = [
        Placeless(
            unplaced.job,
            part_name(shop, unplaced.job, names),
            short_reason(unplaced),
            cannot_be_made(unplaced),
        )
        for unplaced in shop.unplaced.values()
    ]
    return tuple(sorted(found, key=lambda placeless: (not placeless.never, placeless.job)))
