"""What a proposal would move of the published plan, worked out once for each pair of plans."""

from __future__ import annotations

from scheduler.model import Plan
from scheduler.office.shop import scenario_of_plan
from scheduler.planning.moves import Moves, moves
from scheduler.store import Record
from web.shop import Shop


def moved(record: Record, shop: Shop) -> Moves | None:
    """The moves; ``None`` if there is no published plan, no proposal, or one is for another shop."""
    if shop.published is None or shop.proposal is None:
        return None
    key = ("moves", shop.published.number, shop.proposal.number)
    if key not in shop.memo:
        old = scenario_of_plan(record, shop.published.number)
        new = scenario_of_plan(record, shop.proposal.number)
        if old is None or new is None or new.site.plan_start < old.site.plan_start:
            shop.memo[key] = None
        else:
            shop.memo[key] = moves(old, shop.published.plan, new, shop.proposal.plan)
    found = shop.memo[key]
    assert found is None or isinstance(found, Moves)
    return found


def late_jobs(plan: Plan) -> int:
    """How many placed jobs are done after due."""
    return sum(planned.late_min > 0 for planned in plan.jobs)
