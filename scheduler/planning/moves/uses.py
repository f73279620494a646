"""What each job of a plan holds, and who else holds the same at the same time."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from scheduler.model import ATTENDED_STEPS, Plan, PlannedJob

#: What is held: "printer", "spool", "dryer", "oven" or "hands", and its id ("" for hands).
Held = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Use:
    """A job's hold on a thing over ``[start, end)``."""

    job: str
    start: datetime
    end: datetime


@dataclass
class Row:
    """The uses of one thing in order of time."""

    uses: list[Use] = field(default_factory=list)
    starts: list[datetime] = field(default_factory=list)
    longest: timedelta = timedelta(0)

    def close(self) -> None:
        """Put in order what was added."""
        self.uses.sort(key=lambda use: (use.start, use.job))
        self.starts = [use.start for use in self.uses]
        self.longest = max((use.end - use.start for use in self.uses), default=timedelta(0))

    def beside(self, use: Use) -> list[Use]:
        """Uses by other jobs that overlap one."""
        first = bisect_left(self.starts, use.start - self.longest)
        until = bisect_left(self.starts, use.end)
        return [one for one in self.uses[first:until] if one.end > use.start and one.job != use.job]


def uses(plan: Plan) -> dict[Held, Row]:
    """Printers and spools from changeover to unload, dryer and oven runs, and attended steps."""
    rows: defaultdict[Held, Row] = defaultdict(Row)
    users: defaultdict[str, list[PlannedJob]] = defaultdict(list)
    for planned in sorted(plan.jobs, key=lambda planned: (planned.steps[0].start, planned.job)):
        start, end = planned.steps[0].start, planned.steps[-1].end
        rows["printer", planned.printer].uses.append(Use(planned.job, start, end))
        for choice in planned.feeds:
            rows["spool", choice.spool].uses.append(Use(planned.job, start, end))
            users[choice.spool].append(planned)
        for step in planned.steps:
            if step.kind in ATTENDED_STEPS and step.end > step.start:
                rows["hands", ""].uses.append(Use(planned.job, step.start, step.end))
    for run in plan.dryer_runs:
        for spool in run.spools:
            # Who prints from it first after the run is whom it was dried for.
            served = next((one.job for one in users[spool] if one.steps[0].start >= run.end), None)
            if served is not None:
                rows["dryer", run.dryer].uses.append(Use(served, run.start, run.end))
    for bake in plan.oven_runs:
        rows["oven", bake.oven].uses += [Use(job, bake.start, bake.end) for job in bake.jobs]
    for row in rows.values():
        row.close()
    return dict(rows)
