"""What `Asking` works out, as functions that a fresh process can import by name."""

from __future__ import annotations

import time

from scheduler.model import Plan, Scenario
from scheduler.office.shop import scenario_of_plan
from scheduler.planning.moves import Moves, moves
from scheduler.planning.situations import Outcome, outcome
from scheduler.planning.whatif import Tried, other_machines, what_would_save
from scheduler.quoting.openings import Openings, Request, openings
from scheduler.store import Record

#: No trial for a job begins after so many seconds; half of it for other machines.
LIMIT_S = 40.0
#: The search for a situation ends after so many seconds, with the best plan so far.
SEARCH_S = 60.0


def try_job(scenario: Scenario, plan: Plan, job_id: str) -> tuple[Tried, Tried]:
    """What would save a job, and what other machines would cost."""
    saving = what_would_save(scenario, plan, job_id, limit_s=LIMIT_S)
    return saving, other_machines(scenario, plan, job_id, limit_s=LIMIT_S / 2)


def what_moves(database_url: str, published: int, proposed: int) -> Moves | None:
    """What a proposal moves of the published plan; ``None`` if they are for two shops."""
    record = Record(database_url)
    try:
        with record.reading() as unit:
            old_plan, new_plan = unit.plans.get(published), unit.plans.get(proposed)
        old, new = scenario_of_plan(record, published), scenario_of_plan(record, proposed)
    finally:
        record.close()
    if old_plan is None or new_plan is None or old is None or new is None:
        return None
    if new.site.plan_start < old.site.plan_start:
        return None
    return moves(old, old_plan.plan, new, new_plan.plan)


def try_openings(request: Request) -> Openings:
    """What would give a request a place, or an earlier one."""
    return openings(request, limit_s=LIMIT_S)


def try_situation(scenario: Scenario, plan: Plan, changed: Scenario) -> Outcome:
    """What a situation does to the plan."""
    began = time.monotonic()
    return outcome(scenario, plan, changed, stop=lambda: time.monotonic() - began > SEARCH_S)
