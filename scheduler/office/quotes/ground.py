"""What a quote is worked out on: the shop of now, what is left of the published plan, and what was learnt."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.model import Plan, Scenario
from scheduler.office.clock import Clock
from scheduler.office.measured import surroundings
from scheduler.office.refused import Refused
from scheduler.office.shop import way_to
from scheduler.quoting.from_now import from_now
from scheduler.quoting.learning import learn
from scheduler.quoting.price import PriceSheet, sheet_of
from scheduler.quoting.records import PrintRecord
from scheduler.quoting.variation import Variation
from scheduler.store import Record, Unit


@dataclass(frozen=True)
class Ground:
    """One state of the record, as far as a quote stands on it.

    Parameters
    ----------
    version, plan_number : int
        Of the shop and of its published plan: if either has changed, what was worked out may not hold.
    scenario : Scenario
        The shop of ``now``.
    plan : Plan
        What still lies ahead of the published plan.
    matched : bool
        Whether the shop is that for which the plan was published, so that its jobs fit where they are.
    strayed, floor_event : int
        The floor's newest event that the plan did not foresee, and its newest of all.
    """

    version: int
    plan_number: int
    now: datetime
    scenario: Scenario
    plan: Plan
    sheet: PriceSheet
    variation: Variation
    matched: bool
    strayed: int
    floor_event: int

    def stands(self, unit: Unit) -> bool:
        """Whether the record is still in this state."""
        floor = unit.floor.state()
        return (
            unit.fleet.version() == self.version
            and unit.plans.published_number() == self.plan_number
            and (floor.strayed_event if floor else 0) == self.strayed
        )


def ground_of(record: Record, clock: Clock) -> Ground:
    """The ground of now.

    Raises
    ------
    NoShop
        Nothing is recorded.
    Refused
        No plan is published.
    """
    now = clock()
    with record.reading() as unit:
        version = unit.fleet.version()
        way = way_to(unit, now)
        published = unit.plans.published()
        if published is None:
            raise Refused("no plan is published; a date can be given once one is")
        told = surroundings(unit, way.scenario, now) if unit.water.room_air().plan_with_model else None
        sheet = sheet_of(unit.quotes.price_sheet())
        variation = variation_of(unit, now)
        floor = unit.floor.state()
    # Outside of the unit: a reader keeps the writers of a file waiting.
    scenario = way.end()
    if told is not None:
        from scheduler.physics.derive import derive

        scenario = derive(scenario, told).scenario
    return Ground(
        version,
        published.number,
        now,
        scenario,
        from_now(scenario, published.plan),
        sheet,
        variation,
        matched=published.scenario_version == version and told is None,
        strayed=floor.strayed_event if floor else 0,
        floor_event=floor.last_event if floor else 0,
    )


def print_records(unit: Unit) -> tuple[PrintRecord, ...]:
    """All prints that ended, to be learnt from."""
    return tuple(
        PrintRecord(end.machine, end.material, end.estimated_min, end.actual_min, end.failed, end.at)
        for end in unit.quotes.print_ends()
    )


def variation_of(unit: Unit, now: datetime) -> Variation:
    """What varies, as the shop's own prints have taught; the documented defaults before there are any."""
    since = unit.quotes.learning_since()
    records = [one for one in print_records(unit) if one.at <= now and (since is None or one.at >= since)]
    if not records:
        return Variation()
    return learn(records, now, since=since).variation(Variation())
