"""The shop as a whole: recorded from a file, given back, and brought to the present."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from scheduler.model import Plan, Scenario
from scheduler.office.clock import Clock
from scheduler.store import Event, Order, PlanSummary, Record, Unit
from scheduler.store.plans import unpacked

if TYPE_CHECKING:
    from scheduler.floor import Touched

#: Who is named in events that no signed-in person stands behind.
OFFICE = "office"


def import_scenario(
    record: Record, clock: Clock, scenario: Scenario, orders: Iterable[Order] = (), who: str = OFFICE
) -> int:
    """Record a whole shop instead of the one before it.

    Plans of the shop before stay in the record, but none of them stands any more: the published
    one counts as replaced, proposals as discarded.

    Parameters
    ----------
    orders : iterable of Order
        What is known of the scenario's orders beyond their jobs; others are left out.

    Returns
    -------
    int
        The version of the recorded shop.
    """
    with record.writing() as unit:
        unit.fleet.replace(scenario)
        unit.floor.close()
        asked = {job.order for job in scenario.jobs}
        noted = [
            replace(order, placed_at=order.placed_at or clock()) for order in orders if order.id in asked
        ]
        if noted:
            unit.orders.save_all(noted)
        retired = unit.plans.retire_all()
        counts = {
            "printers": len(scenario.printers),
            "spools": len(scenario.spools),
            "jobs": len(scenario.jobs),
            "retired_plans": list(retired),
        }
        unit.events.append(Event(clock(), "shop recorded", who, "shop", scenario.site.name, counts))
        return unit.fleet.version()


def export_scenario(record: Record) -> Scenario:
    """The shop as recorded; :class:`~scheduler.store.NoShop` if there is none."""
    with record.reading() as unit:
        return unit.fleet.load()


def scenario_now(record: Record, clock: Clock) -> Scenario:
    """The shop of this minute: as the floor reported it, or else as the published plans said.

    The recorded shop itself while no plan is published, or before its ``plan_start``.
    """
    with record.reading() as unit:
        way = way_to(unit, clock())
    return way.end()


def scenario_of_plan(record: Record, number: int) -> Scenario | None:
    """The shop that a plan was made for, as far as the record still knows it.

    A plan keeps its shop; for one that was stored without, the shop is worked out along the plans
    before it, and what was changed in the fleet or the orders since shows in it. ``None`` if there is no
    such plan, or if the whole shop was replaced since.
    """
    with record.reading() as unit:
        recording = unit.fleet.recording()
        made = [plan for plan in unit.plans.list() if (plan.number, plan.recording) == (number, recording)]
        if not made:
            return None
        kept = unit.plans.basis(number)
        way = None if kept else way_to(unit, made[0].planned_from, before=number)
    if kept is not None:
        return unpacked(kept[0])
    assert way is not None
    return way.end()


@dataclass(frozen=True, slots=True)
class Way:
    """How the recorded shop came to be the shop of an instant.

    By what the floor reported, if it did; else along plans, each up to an instant.
    """

    scenario: Scenario
    legs: tuple[tuple[Plan, datetime], ...]
    reported: tuple[Touched, datetime] | None = None

    def end(self) -> Scenario:
        """The shop at the end of the way; takes its time and needs no record."""
        scenario = self.scenario
        if self.reported is not None:
            from scheduler.floor import Ground, present

            return present(Ground(scenario), *self.reported)
        for plan, until in self.legs:
            # The planner's room is loaded only where it is needed; most calls never come here.
            from scheduler.planning.advance import advance

            scenario = advance(scenario, plan, until)
        return scenario


def way_to(
    unit: Unit,
    now: datetime,
    before: int | None = None,
    scenario: Scenario | None = None,
    known: Mapping[int, Plan] | None = None,
) -> Way:
    """The way of the recorded shop along the published plans to ``now``.

    Each plan was made for the shop as the plans before it had left it, so they are followed one
    after another, each up to the instant that the next was made for.

    Parameters
    ----------
    before : int, optional
        Only plans with a lower number are followed.
    scenario : Scenario, optional
        The recorded shop, where it has been read already.
    known : mapping of int to Plan, optional
        Plans by their number that have been read already.
    """
    scenario = scenario or unit.fleet.load()
    state = unit.floor.state()
    if before is None and state is not None and now >= state.opened_at:
        return Way(scenario, (), (unit.floor.touched(), now))
    minute = now.replace(second=0, microsecond=0)
    followed = _followed(unit, before)
    ends = [*(following.planned_from for following in followed[1:]), minute]
    legs: list[tuple[Plan, datetime]] = []
    reached = scenario.site.plan_start
    for summary, end in zip(followed, ends, strict=False):
        until = min(minute, end)
        if until > reached:
            plan = (known or {}).get(summary.number)
            if plan is None:
                stored = unit.plans.get(summary.number)
                assert stored is not None
                plan = stored.plan
            legs.append((plan, until))
            reached = until
    return Way(scenario, tuple(legs))


def _followed(unit: Unit, before: int | None) -> list[PlanSummary]:
    """Plans of this recording that were ever published, in the order in which they were."""
    recording = unit.fleet.recording()
    published = [
        summary
        for summary in unit.plans.list()
        if summary.state in ("published", "replaced")
        and summary.recording == recording
        and (before is None or summary.number < before)
    ]
    return sorted(published, key=lambda summary: (summary.published_at or summary.created_at, summary.number))
