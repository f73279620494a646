"""The figures by which plans are compared, worked out anew."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

from scheduler.checking.breach import Breach
from scheduler.checking.hands import attended
from scheduler.checking.reading import read
from scheduler.checking.view import PREHEAT, Stint, View
from scheduler.matching import Matcher
from scheduler.model import Job, Plan, Scenario

#: Figures agree to this.
TOLERANCE = 0.005
#: A job without a place counts as done so long after the last shift.
UNPLACED_AFTER = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Costs:
    """What a plan costs: weighted late hours, then people's minutes and preheat minutes."""

    late_cost: float
    attended_min: int
    preheat_min: int

    @property
    def tie_break(self) -> float:
        """What decides between plans that are equally late."""
        return self.attended_min + 0.1 * self.preheat_min


def costs(scenario: Scenario, plan: Plan) -> Costs:
    """The figures of a plan, whatever it states itself."""
    view, _ = read(scenario, plan)
    return costs_of(view, Matcher(scenario))


def costs_of(view: View, matcher: Matcher) -> Costs:
    """The figures of a plan that was read."""
    never = view.scenario.site.minute(max(shift.end for shift in view.scenario.shifts) + UNPLACED_AFTER)
    late_cost = 0.0
    for job in view.scenario.jobs:
        stint = view.stints.get(job.id)
        if job.due is None:
            continue
        if stint is not None:
            late_cost += job.weight * late_minutes(view, job, done_minute(view, stint)) / 60
        elif job.progress is not None or matcher.fits_something(job.id):
            late_cost += job.weight * late_minutes(view, job, never) / 60
    return Costs(
        late_cost,
        sum(item.end - item.start for item in attended(view)),
        sum(max(0, stint.length(PREHEAT)) for stint in view.stints.values() if stint.begun <= PREHEAT),
    )


def done_minute(view: View, stint: Stint) -> int:
    """End of the last step, anneal included, plus the finishing."""
    runs = view.annealing_of.get(stint.job.id, ()) if stint.job.anneal else ()
    last = max((annealing.end for annealing in runs), default=stint.last)
    return last + stint.job.finish_min


def late_minutes(view: View, job: Job, done: int) -> int:
    """Minutes past due; 0 without a due date."""
    return 0 if job.due is None else max(0, done - view.scenario.site.minute(job.due))


def check_done(view: View) -> Iterator[Breach]:
    """``done`` and ``late_min`` of each job."""
    site = view.scenario.site
    for stint in view.stints.values():
        done = done_minute(view, stint)
        stated = site.minute(stint.planned.done)
        if stated != done:
            text = f"done is {view.when(stated)}, its last step and finishing end {view.when(done)}"
            yield Breach("done", stint.who, text)
        late = late_minutes(view, stint.job, done)
        if stint.planned.late_min != late:
            yield Breach("done", stint.who, f"late_min is {stint.planned.late_min}, worked out: {late}")


def check_costs(view: View, matcher: Matcher) -> Iterator[Breach]:
    """The plan's own figures, and a lower bound that is one."""
    plan, worked_out = view.plan, costs_of(view, matcher)
    for name in ("late_cost", "attended_min", "preheat_min"):
        stated, there = getattr(plan, name), getattr(worked_out, name)
        # Not written as > so that a figure that is no number is reported too.
        if not abs(stated - there) <= TOLERANCE:
            yield Breach("cost", "plan", f"{name} is {stated:.10g}, worked out: {there:.10g}")
    if plan.lower_bound is not None and not plan.lower_bound <= worked_out.late_cost + TOLERANCE:
        text = f"lower_bound is {plan.lower_bound:.10g}, above late_cost {worked_out.late_cost:.10g}"
        yield Breach("cost", "plan", text)
