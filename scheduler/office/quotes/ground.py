"""What a quote is worked out on: the shop of now, what is left of the published plan, and what was learnt."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from scheduler.model import Plan, Scenario
from scheduler.office.clock import Clock
from scheduler.office.measured import surroundings
from scheduler.office.refused import Refused
from scheduler.office.shop import way_to
from scheduler.quoting.applied import planned_factors, planned_jobs, told, varied
from scheduler.quoting.from_now import from_now
from scheduler.quoting.kept import levels
from scheduler.quoting.learning import Learning, learn
from scheduler.quoting.price import PriceSheet, sheet_of
from scheduler.quoting.records import PrintRecord, PromiseRecord
from scheduler.quoting.variation import Variation
from scheduler.quoting.ways import CHANCES
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
    factors : dict
        By material, how much longer than estimated prints are to be planned, as the shop's prints taught.
    learning : Learning or None
        Where that is from; ``None`` before any print, or while what was learnt is set aside.
    limits : dict
        By job of a quote, when the plan had it done as it was promised. The promise lies later, by what may
        go wrong; whoever moves the job beyond takes that away from it.
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
    factors: dict[str, float]
    learning: Learning | None
    limits: dict[str, datetime]

    def counted(self, materials: Iterable[str]) -> tuple[str, ...]:
        """In sentences, which of these materials are planned otherwise than estimated."""
        used = {one: self.factors[one] for one in materials if one in self.factors}
        return told(used, self.learning) if self.learning is not None else ()

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
        air = surroundings(unit, way.scenario, now) if unit.water.room_air().plan_with_model else None
        sheet = sheet_of(unit.quotes.price_sheet())
        used = unit.quotes.learning_used()
        learning = learning_of(unit, now) if used else None
        planned = unit.quotes.planned_times()
        promised = unit.quotes.planned_dates()
        # Set aside, neither prints nor promises move a date.
        promises = promise_records(unit) if used else ()
        read_at = levels(promises, now, CHANCES, unit.quotes.learning_since())
        floor = unit.floor.state()
    # Outside of the unit: a reader keeps the writers of a file waiting.
    scenario = way.end()
    if air is not None:
        from scheduler.physics.derive import derive

        scenario = derive(scenario, air).scenario
    usual = Variation(levels=read_at)
    variation = usual if learning is None else learning.variation(usual)
    materials = [material.id for material in scenario.materials]
    return Ground(
        version,
        published.number,
        now,
        scenario,
        from_now(scenario, published.plan),
        sheet,
        varied(variation, planned_jobs(scenario.jobs, planned)),
        matched=published.scenario_version == version and air is None,
        strayed=floor.strayed_event if floor else 0,
        floor_event=floor.last_event if floor else 0,
        factors=planned_factors(learning, materials) if learning is not None else {},
        learning=learning,
        limits={job.id: promised[job.order] for job in scenario.jobs if job.order in promised},
    )


def print_records(unit: Unit) -> tuple[PrintRecord, ...]:
    """All prints that ended, to be learnt from."""
    return tuple(
        PrintRecord(end.machine, end.material, end.estimated_min, end.actual_min, end.failed, end.at)
        for end in unit.quotes.print_ends()
    )


def promise_records(unit: Unit) -> tuple[PromiseRecord, ...]:
    """All dates that customers accepted, to be learnt from."""
    return tuple(
        PromiseRecord(quote.chance, quote.promised_at, quote.promised_for, quote.done_at)
        for quote in unit.quotes.promised()
        if quote.chance is not None and quote.promised_at is not None and quote.promised_for is not None
    )


def learning_of(unit: Unit, now: datetime) -> Learning | None:
    """What the shop's own prints have taught; ``None`` before there are any."""
    since = unit.quotes.learning_since()
    records = [one for one in print_records(unit) if one.at <= now and (since is None or one.at >= since)]
    return learn(records, now, since=since) if records else None
