"""The weekly look at a humid week: the published plan put back in air that is more humid than today's.

Open times shrink and runs of dryers without desiccant get longer; the planner keeps every first layer that
still holds and moves the others. A job on time in today's air and late in the humid is what a person should
know of before such a week comes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.model.errors import SoaklineError
from scheduler.office.clock import Clock
from scheduler.office.measured import surroundings
from scheduler.office.refused import Refused
from scheduler.office.shop import way_to
from scheduler.physics.derive import Surroundings, derive
from scheduler.store import Event, HumidCheck, Record, Unit

#: The humid air that is looked ahead to, %.
HUMID_PCT = 70.0


def check_humid_week(
    record: Record, clock: Clock, who: str, also: Callable[[Unit], None] = lambda unit: None
) -> HumidCheck:
    """Look at what today's humidity and a humid one do to the published plan, and record what is found.

    Parameters
    ----------
    also : callable
        Done in the unit of work that records the result.

    Raises
    ------
    Refused
        If no plan is published.
    SoaklineError
        If a plan broke a rule, which is a fault of the planner.
    """
    now = clock()
    with record.reading() as unit:
        published = unit.plans.published()
        if published is None:
            raise Refused("there is no published plan to look at")
        way = way_to(unit, now)
        around = surroundings(unit, way.scenario, now)
    # Outside of the unit: a reader keeps the writers of a file waiting.
    scenario = way.end()
    humid = max(HUMID_PCT, around.humidity_pct)
    today = late_in(scenario, around, published.plan)
    later = late_in(scenario, replace(around, humidity_pct=humid), published.plan)
    told = {job.job for job in published.plan.jobs if job.late_min > 0}
    told |= {job.job for job in published.plan.unplaced}
    found = HumidCheck(
        now,
        published.number,
        around.humidity_pct,
        humid,
        tuple(sorted(today - told)),
        tuple(sorted(later - today - told)),
        who,
    )
    with record.writing() as unit:
        number = unit.water.add_humid_check(found)
        figures = {
            "plan": found.plan_number,
            "today_pct": round(found.today_pct, 1),
            "humid_pct": found.humid_pct,
            "late_today": list(found.late_today),
            "late_humid": list(found.late_humid),
        }
        unit.events.append(Event(now, "humid week looked at", who, "check", str(number), figures))
        also(unit)
    return replace(found, number=number)


def late_in(scenario: Scenario, around: Surroundings, plan: Plan) -> set[str]:
    """The jobs that are late or without a place when a plan is put back in some air."""
    # The planner takes a while to load, and pages that only look never come here.
    from scheduler.checking import check
    from scheduler.planning import make_plan

    wetter = derive(scenario, around).scenario
    hashed = scenario_hash(wetter)
    put_back = make_plan(
        wetter, scenario_hash=hashed, made_at=wetter.site.plan_start, seconds=0.0, seed=1, previous=plan
    )
    breaches = check(wetter, put_back, hashed)
    if breaches:
        first = breaches[0]
        raise SoaklineError(f"The plan broke a rule: {first.rule} – {first.who}: {first.text}")
    late = {job.job for job in put_back.jobs if job.late_min > 0}
    return late | {job.job for job in put_back.unplaced}
