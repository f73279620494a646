"""Recording whole shops, and changing one thing at a time."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import datetime, timedelta
from types import ModuleType

import pytest

from scheduler.model import Mounted, Plan, Purge, Scenario
from scheduler.office import fleet
from scheduler.office.refused import Refused
from scheduler.office.shop import export_scenario, import_scenario, scenario_now, scenario_of_plan
from scheduler.store import NoShop, Order, Record, StaleVersion
from tests.builders import (
    a_dryer,
    a_head,
    a_job,
    a_material,
    a_plan,
    a_printer,
    a_scenario,
    a_shift,
    a_spool,
    an_oven,
    at,
)
from tests.office.conftest import StandingClock


def events(record: Record) -> list[tuple[str, str]]:
    with record.reading() as unit:
        return [(event.kind, event.subject_id) for event in unit.events.list()]


def test_export_of_an_import_is_the_same_shop(record: Record, clock: StandingClock) -> None:
    scenario = a_scenario(jobs=[a_job("J2"), a_job("J1")])
    with pytest.raises(NoShop):
        export_scenario(record)
    assert import_scenario(record, clock, scenario) == 1
    assert export_scenario(record) == scenario
    assert events(record) == [("shop recorded", "test shop")]


def test_import_retires_the_plans_of_the_shop_before(
    shop: Record, clock: StandingClock, scenario: Scenario
) -> None:
    with shop.writing() as unit:
        unit.plans.publish(unit.plans.add(a_plan()), at(0))
        unit.plans.add(a_plan())
    import_scenario(shop, clock, scenario)
    with shop.reading() as unit:
        assert [plan.state for plan in unit.plans.list()] == ["discarded", "replaced"]
    clock.now = at(500)
    assert scenario_now(shop, clock) == scenario
    assert scenario_of_plan(shop, 1) is None


def test_import_keeps_what_it_is_told_of_orders(record: Record, clock: StandingClock) -> None:
    notes = [Order("o-J1", "Kettler Valves", "soft packing", True), Order("o-gone", "Nobody")]
    import_scenario(record, clock, a_scenario(), notes)
    with record.reading() as unit:
        assert unit.orders.list() == (replace(notes[0], placed_at=at(0)),)


def test_shop_of_now_is_the_recorded_one_without_a_published_plan(
    shop: Record, clock: StandingClock, scenario: Scenario
) -> None:
    clock.now = at(300)
    assert scenario_now(shop, clock) == scenario
    with shop.writing() as unit:
        unit.plans.publish(unit.plans.add(a_plan()), at(0))
    clock.now = at(0)
    assert scenario_now(shop, clock) == scenario


def test_shop_of_now_follows_the_published_plans_one_after_another(
    shop: Record, clock: StandingClock, scenario: Scenario, monkeypatch: pytest.MonkeyPatch
) -> None:
    followed: list[tuple[int, datetime]] = []

    def advance(shop_then: Scenario, plan: Plan, now: datetime) -> Scenario:
        followed.append((plan.seed, now))
        return replace(shop_then, site=replace(shop_then.site, plan_start=now))

    module = ModuleType("scheduler.planning.advance")
    monkeypatch.setattr(module, "advance", advance, raising=False)
    monkeypatch.setitem(sys.modules, "scheduler.planning.advance", module)
    with shop.writing() as unit:
        for number, start in ((1, 0), (2, 60), (3, 60), (4, 200)):
            assert unit.plans.add(a_plan(seed=number), planned_from=at(start)) == number
        for number, published in ((1, 1), (2, 63), (4, 201)):
            unit.plans.publish(number, at(published))
    clock.now = at(300) + timedelta(seconds=42)
    assert scenario_now(shop, clock).site.plan_start == at(300)
    assert followed == [(1, at(60)), (2, at(200)), (4, at(300))]
    followed.clear()
    made_for = scenario_of_plan(shop, 2)
    assert made_for is not None and made_for.site.plan_start == at(60)
    assert followed == [(1, at(60))]
    assert scenario_of_plan(shop, 1) == scenario
    assert scenario_of_plan(shop, 9) is None


def test_saved_things_are_new_or_take_their_old_place(shop: Record, clock: StandingClock) -> None:
    fleet.save_printer(shop, clock, a_printer("P2"))
    fleet.save_printer(shop, clock, a_printer("P1", unattended=False))
    fleet.save_dryer(shop, clock, a_dryer("D2"))
    fleet.save_oven(shop, clock, an_oven("O2"))
    fleet.save_material(shop, clock, a_material("PC"))
    fleet.save_spool(shop, clock, a_spool("s2", "PC"), seen=6)
    found = export_scenario(shop)
    assert [(printer.id, printer.unattended) for printer in found.printers] == [("P1", False), ("P2", True)]
    assert [found.dryers[-1].id, found.ovens[-1].id, found.materials[-1].id] == ["D2", "O2", "PC"]
    assert found.spools[-1] == a_spool("s2", "PC")
    assert events(shop) == [
        ("spool added", "s2"),
        ("material added", "PC"),
        ("oven added", "O2"),
        ("dryer added", "D2"),
        ("printer changed", "P1"),
        ("printer added", "P2"),
    ]


def test_a_change_that_makes_the_shop_unsound_is_refused_with_every_offence(
    shop: Record, clock: StandingClock, scenario: Scenario
) -> None:
    bad = a_printer(
        chamber_reach_c=80.0, cool_tau_min=0.0, heads=(a_head(mounted=Mounted("s9", None, None)),)
    )
    with pytest.raises(Refused) as caught:
        fleet.save_printer(shop, clock, bad)
    paths = [offence.path for offence in caught.value.offences]
    assert "printers[0].chamber_reach_c" in paths
    assert "printers[0].cool_tau_min" in paths
    assert "printers[0].heads[0].mounted.spool" in paths
    assert "s9" in str(caught.value)
    assert export_scenario(shop) == scenario
    assert events(shop) == []


def test_site_and_shifts_are_saved_together(shop: Record, clock: StandingClock, scenario: Scenario) -> None:
    site = replace(scenario.site, freeze_min=90, purges=(Purge("ABS", "SUP", 12),))
    fleet.save_site(shop, clock, site, (a_shift(hands=1),))
    assert (export_scenario(shop).site, export_scenario(shop).shifts) == (site, (a_shift(hands=1),))
    with pytest.raises(Refused, match="XYZ"):
        fleet.save_site(shop, clock, replace(site, purges=(Purge("ABS", "XYZ", 1),)), (a_shift(),))
    with pytest.raises(Refused):
        fleet.save_site(shop, clock, site, ())


def test_a_change_based_on_an_older_version_is_refused(shop: Record, clock: StandingClock) -> None:
    fleet.save_printer(shop, clock, a_printer(speed_factor=1.5), seen=1)
    with pytest.raises(StaleVersion, match="somebody changed the shop meanwhile"):
        fleet.save_spool(shop, clock, a_spool(grams=3.0), seen=1)


def test_what_is_still_named_can_not_be_removed(shop: Record, clock: StandingClock) -> None:
    fleet.save_spool(shop, clock, a_spool("s2"))
    fleet.remove_spool(shop, clock, "s2")
    with pytest.raises(Refused, match="ABS"):
        fleet.remove_material(shop, clock, "ABS")
    fleet.remove_material(shop, clock, "SUP")
    with pytest.raises(Refused, match="no printer P9"):
        fleet.remove_printer(shop, clock, "P9")
    fleet.remove_dryer(shop, clock, "D1")
    fleet.remove_oven(shop, clock, "O1")
    found = export_scenario(shop)
    assert (found.dryers, found.ovens, [material.id for material in found.materials]) == ((), (), ["ABS"])
