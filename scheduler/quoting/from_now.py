"""What of a plan still lies ahead of a shop of a later minute."""

from __future__ import annotations

from dataclasses import replace

from scheduler.model import Plan, Scenario


def from_now(scenario: Scenario, plan: Plan) -> Plan:
    """The plan without what has left the shop since: jobs that are done, runs that are over.

    Parameters
    ----------
    scenario : Scenario
        The shop at a minute after the plan was made, as `planning.advance` brings it there.
    """
    known, now = {job.id for job in scenario.jobs}, scenario.site.plan_start
    baked = tuple(
        replace(run, jobs=tuple(job for job in run.jobs if job in known))
        for run in plan.oven_runs
        if known.intersection(run.jobs)
    )
    return replace(
        plan,
        jobs=tuple(planned for planned in plan.jobs if planned.job in known),
        dryer_runs=tuple(run for run in plan.dryer_runs if run.end > now),
        oven_runs=baked,
        forced=tuple(entry for entry in plan.forced if entry.job in known),
        unplaced=tuple(entry for entry in plan.unplaced if entry.job in known),
    )
