"""Made-up shops are tight: what a shop without a planner does leaves a quarter to a half of the jobs late."""

from __future__ import annotations

from datetime import date

import pytest

from demo_fleet.generator import generate
from demo_fleet.shop import demo_shop
from scheduler.model import Scenario
from tests.bench.dispatch import earliest_due


def late_share(scenario: Scenario) -> float:
    """Share of all jobs that plain earliest-due dispatch finishes late or leaves out though it could."""
    plan = earliest_due(scenario, "0" * 64, scenario.site.plan_start)
    due = {job.id for job in scenario.jobs if job.due is not None}
    late = sum(job.late_min > 0 for job in plan.jobs)
    late += sum(left.reasons[0].check in ("stock", "horizon") and left.job in due for left in plan.unplaced)
    return late / len(scenario.jobs)


@pytest.mark.parametrize(("size", "seeds"), [("S", 10), ("M", 5)])
def test_a_quarter_to_a_half_are_late_under_plain_dispatch(size: str, seeds: int) -> None:
    shares = [late_share(generate(size, seed)) for seed in range(1, seeds + 1)]
    assert 0.25 <= sum(shares) / seeds <= 0.5
    # Single small shops stray, but none is slack and none hopeless.
    assert min(shares) >= 0.2 and max(shares) <= 0.6


def test_the_demo_shop_is_tight_at_the_start_of_a_week() -> None:
    assert 0.25 <= late_share(demo_shop(date(2026, 7, 27))) <= 0.5
