"""Earlier dates by moving others: no promise is broken, every rule is kept."""

from __future__ import annotations

import pytest

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model.codec import scenario_hash
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.insert import insert, promises
from scheduler.planning.tighten import WORTH_MIN, tighten
from tests.planning.test_insert import plan_of
from tests.requests import random_request


@pytest.mark.parametrize(("shop", "rounds"), [(1, 3000), (3, 300)])
def test_earlier_dates_keep_every_promise(shop: int, rounds: int) -> None:
    # A plan that is nearly the best there is leaves nobody who could be moved: S3's of 3,000 rounds is such.
    compiled_kernels()
    scenario = generate("S", shop)
    plan = plan_of(scenario, rounds=rounds)
    promised = promises(scenario, plan)
    earlier = 0
    for seed in range(12):
        jobs, spools = random_request(scenario, seed)
        found = insert(scenario, plan, jobs, spools=spools)
        better = tighten(found, 4000)
        if not found.whole:
            assert better is found
            continue
        hashed = scenario_hash(better.scenario)
        after = better.plan(hashed, scenario.site.plan_start)
        assert check(better.scenario, after, hashed) == ()
        done = {job.job: job.done for job in after.jobs}
        assert all(done[id] <= by for id, by in promised.items())
        assert max(done[job.id] for job in jobs) == better.date
        if better is not found:
            assert (found.date - better.date).total_seconds() >= 60 * WORTH_MIN
            earlier += 1
        assert tighten(found, 4000).date == better.date
    assert earlier >= 1
