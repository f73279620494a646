"""The shop of now and the plan that the floor works to, for whoever wants to try something."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.model import Scenario
from scheduler.office.clock import Clock
from scheduler.office.measured import surroundings
from scheduler.office.refused import Refused
from scheduler.office.shop import way_to
from scheduler.store import NoShop, Record, StoredPlan


@dataclass(frozen=True, slots=True)
class Ground:
    """What trials stand on: the shop as the planner would be given it, and the published plan."""

    scenario: Scenario
    published: StoredPlan
    version: int


def ground(record: Record, clock: Clock) -> Ground:
    """The shop of this minute as a planning run would take it, and the published plan.

    Raises
    ------
    NoShop
        If nothing is recorded.
    Refused
        If no plan is published.
    """
    with record.reading() as unit:
        version = unit.fleet.version()
        if version == 0:
            raise NoShop
        published = unit.plans.published()
        if published is None:
            raise Refused("no plan is published yet; make one and publish it, then try things on it")
        way = way_to(unit, clock())
        told = surroundings(unit, way.scenario, clock()) if unit.water.room_air().plan_with_model else None
    scenario = way.end()
    if told is not None:
        # Loaded only by shops that plan with the model of water.
        from scheduler.physics.derive import derive

        scenario = derive(scenario, told).scenario
    return Ground(scenario, published, version)
