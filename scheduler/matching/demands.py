"""Jobs in classes, with the materials of their feeds."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.matching.together import Together
from scheduler.model import Job, Scenario


@dataclass(frozen=True, slots=True)
class Demand:
    """A job, its class, and what its materials ask for together.

    Jobs of one class differ in nothing that a check looks at or a reason tells.
    """

    job: Job
    job_class: int
    together: Together


class Demands:
    """The demands of a scenario's jobs, by job id."""

    def __init__(self, scenario: Scenario) -> None:
        self._jobs = {job.id: job for job in scenario.jobs}
        self._materials = {material.id: material for material in scenario.materials}
        self._together: dict[tuple[str, ...], Together] = {}
        classes: dict[object, int] = {}
        self._class_of = {
            job.id: classes.setdefault(
                (job.print_min, job.size_mm, job.needs_qualified, job.anneal, job.feeds), len(classes)
            )
            for job in scenario.jobs
        }

    def of(self, job_id: str) -> Demand:
        """The demand of one job; ``KeyError`` for an id that the scenario lacks."""
        job = self._jobs[job_id]
        key = tuple(feed.material for feed in job.feeds)
        together = self._together.get(key)
        if together is None:
            together = Together.of(tuple(self._materials[material] for material in key))
            self._together[key] = together
        return Demand(job, self._class_of[job_id], together)
