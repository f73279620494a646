"""What the model of water makes of a shop's plan: two plans of two scenarios, side by side."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta

from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.model.errors import SoaklineError
from scheduler.physics.nonsense import within


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two plans of one shop, the second with other figures of water.

    All passed the checker against their own scenario. ``again`` is the first planned once more with
    another seed: what differs between these two is chance.
    """

    shop: Scenario
    before: Plan
    after: Plan
    again: Plan

    @property
    def rescued(self) -> set[str]:
        """Jobs that have a place only in the second."""
        return _placed(self.after) - _placed(self.before)

    @property
    def lost(self) -> set[str]:
        """Jobs that have a place only in the first."""
        return _placed(self.before) - _placed(self.after)

    @property
    def turned_late(self) -> set[str]:
        """Jobs that are late only in the second."""
        return (_late(self.after) - _late(self.before)) & _placed(self.before)

    @property
    def turned_timely(self) -> set[str]:
        """Jobs that are late only in the first."""
        return (_late(self.before) - _late(self.after)) & _placed(self.after)

    @property
    def drying_saved_h(self) -> float:
        """Dryer hours that the second needs less, over jobs that both place."""
        return self.dryer_hours(self.before) - self.dryer_hours(self.after)

    def late(self, plan: Plan) -> set[str]:
        """The jobs of a plan that are late."""
        return _late(plan)

    def dryer_hours(self, plan: Plan) -> float:
        """Hours that dryers run in a plan, runs begun before it left out."""
        begun = {run.id for run in self.shop.under_way.dryer_runs}
        runs = [run.end - run.start for run in plan.dryer_runs if run.id not in begun]
        return sum(runs, timedelta()) / timedelta(hours=1)


def compare(before: Scenario, after: Scenario, *, seconds: float, seed: int) -> Comparison:
    """Plan both, each for ``seconds``, the first with another seed as well, and check all."""
    first, second, again = (
        _planned(each, seconds, number)
        for each, number in ((before, seed), (after, seed), (before, seed + 1))
    )
    return Comparison(before, first, second, again)


def with_bodies(scenario: Scenario, most_c: float) -> Scenario:
    """The same shop as if no spool's body stood more than ``most_c``."""
    within("what a body stands", most_c, 30, 400, "°C")
    spools = tuple(replace(spool, body_max_c=min(spool.body_max_c, most_c)) for spool in scenario.spools)
    return replace(scenario, spools=spools)


def _planned(scenario: Scenario, seconds: float, seed: int) -> Plan:
    # The planner takes a while to load, and pages that only look never come here.
    from scheduler.checking import check
    from scheduler.planning import make_plan

    hashed = scenario_hash(scenario)
    made_at = scenario.site.plan_start
    plan = make_plan(scenario, scenario_hash=hashed, made_at=made_at, seconds=seconds, seed=seed)
    breaches = check(scenario, plan, hashed)
    if breaches:
        told = "\n".join(f"{breach.rule} – {breach.who}: {breach.text}" for breach in breaches[:5])
        raise SoaklineError(f"The plan broke rules; this is a fault of the planner.\n{told}")
    return plan


def _placed(plan: Plan) -> set[str]:
    return {job.job for job in plan.jobs}


def _late(plan: Plan) -> set[str]:
    return {job.job for job in plan.jobs if job.late_min > 0}
