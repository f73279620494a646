"""Random requests to a shop: jobs like its own with other figures, some with spools to be bought."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta

from scheduler.model import Job, Scenario, Spool


def random_request(scenario: Scenario, seed: int) -> tuple[tuple[Job, ...], tuple[Spool, ...]]:
    """One to three new jobs, and perhaps spools that come within some days; always the same for a seed."""
    rng = random.Random(seed)
    start = scenario.site.plan_start
    release = start + timedelta(minutes=rng.choice((0, 60, 600, 1440)))
    first = rng.choice(scenario.jobs)
    jobs: list[Job] = []
    for number in range(rng.choice((1, 1, 1, 2, 3))):
        model = first if rng.random() < 0.6 else rng.choice(scenario.jobs)
        jobs.append(
            replace(
                model,
                id=f"quote-{seed}.{number + 1}",
                order=f"quote-{seed}",
                print_min=max(5, round(model.print_min * rng.uniform(0.4, 1.5))),
                release=release,
                due=None,
                weight=1.0,
                same_lot_as=jobs[0].id if jobs and rng.random() < 0.2 else None,
                pinned=None,
                progress=None,
                needs_qualified=model.needs_qualified if rng.random() < 0.7 else (),
            )
        )
    spools = []
    if rng.random() < 0.5:
        for number, material in enumerate(sorted({feed.material for job in jobs for feed in job.feeds})):
            grams = sum(feed.grams for job in jobs for feed in job.feeds if feed.material == material)
            certs = {tag for job in jobs for feed in job.feeds for tag in feed.certs}
            spools.append(
                Spool(
                    id=f"buy-{seed}-{number + 1}",
                    material=material,
                    lot=f"to be bought {seed}-{number + 1}",
                    grams=max(1000.0, 1.1 * grams),
                    body_max_c=160.0,
                    certs=tuple(sorted(certs)),
                    available_from=start + timedelta(days=rng.choice((1, 2, 4))),
                    dried=False,
                    exposed_min=0,
                    drying=None,
                )
            )
    return tuple(jobs), tuple(spools)
