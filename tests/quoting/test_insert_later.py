"""New jobs in what is left of a plan at a later minute: begun work keeps its minutes too."""

from __future__ import annotations

import pytest

from scheduler.planning.advance import advance
from scheduler.planning.insert import insert
from scheduler.quoting.from_now import from_now
from tests.planning.random_shops import random_shop
from tests.planning.test_advance import instants
from tests.planning.test_insert import must_be_sound, plan_of
from tests.requests import random_request


@pytest.mark.parametrize("seed", range(120))
def test_a_request_at_any_later_minute_never_harms_a_promise(seed: int) -> None:
    scenario = random_shop(seed)
    plan = plan_of(scenario)
    for turn, now in enumerate(instants(scenario, plan)):
        later = advance(scenario, plan, now)
        ahead = from_now(later, plan)
        if not later.jobs or max(shift.end for shift in later.shifts) <= now:
            continue
        jobs, spools = random_request(later, 997 * turn + seed)
        must_be_sound(ahead, insert(later, ahead, jobs, spools=spools))
