"""What is recorded comes back as it was, on both engines."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest
from hypothesis import given

from scheduler.model import Plan, Reason, Scenario, Unplaced
from scheduler.model.codec import encode_plan, encode_scenario, read_plan_file, read_scenario_file
from scheduler.store import NoShop, Record
from tests.builders import WORKED_EXAMPLE, a_job, a_plan, a_printer, a_scenario, a_site, a_spool, at
from tests.model import strategies


def recorded(record: Record, scenario: Scenario) -> Scenario:
    with record.writing() as unit:
        unit.fleet.replace(scenario)
    with record.reading() as unit:
        return unit.fleet.load()


def recorded_plan(record: Record, plan: Plan) -> Plan:
    with record.writing() as unit:
        number = unit.plans.add(plan, planned_from=at(0))
    with record.reading() as unit:
        stored = unit.plans.get(number)
    assert stored is not None
    return stored.plan


def test_worked_example_comes_back_to_the_letter(record: Record) -> None:
    scenario, _ = read_scenario_file(WORKED_EXAMPLE / "scenario.json")
    plan = read_plan_file(WORKED_EXAMPLE / "plan.json", scenario)
    assert encode_scenario(recorded(record, scenario)) == encode_scenario(scenario)
    assert encode_plan(recorded_plan(record, plan)) == encode_plan(plan)


def test_random_shops_come_back_to_the_letter(record: Record) -> None:
    @strategies.for_examples(25)
    @given(strategies.scenarios())
    def holds(scenario: Scenario) -> None:
        assert encode_scenario(recorded(record, scenario)) == encode_scenario(scenario)

    holds()


def test_random_plans_come_back_to_the_letter(record: Record) -> None:
    with record.writing() as unit:
        unit.fleet.replace(a_scenario())

    @strategies.for_examples(25)
    @given(strategies.scenarios().flatmap(strategies.plans))
    def holds(plan: Plan) -> None:
        assert encode_plan(recorded_plan(record, plan)) == encode_plan(plan)

    holds()


@pytest.mark.parametrize("figure", [0.1 + 0.2, 1e-300, 7, -3, "none at all", "", None, 120.0])
def test_figures_of_a_reason_keep_their_kind(record: Record, figure: float | int | str | None) -> None:
    reason = Reason("chamber", "P1", None, None, figure, None, "why")
    plan = a_plan(unplaced=(Unplaced("J1", (reason, reason)),))
    found = recorded_plan(record, plan).unplaced[0].reasons[1].asked
    assert found == figure and type(found) is type(figure)


@pytest.mark.parametrize("minutes", [0, 330, -210, 60, 14 * 60])
def test_instants_keep_the_offset_that_they_were_given_with(record: Record, minutes: int) -> None:
    start = datetime(2031, 1, 1, 0, 30, tzinfo=timezone(timedelta(minutes=minutes)))
    found = recorded(record, a_scenario(site=a_site(plan_start=start))).site.plan_start
    assert found.isoformat() == start.isoformat()


def test_lists_keep_their_order_and_changes_their_place(record: Record) -> None:
    printers = [a_printer(name) for name in ("zeta", "P10", "P2", "alpha")]
    scenario = a_scenario(printers=printers, spools=[a_spool("s2"), a_spool("s1", certs=("b", "a"))])
    assert recorded(record, scenario) == scenario
    changed = replace(printers[1], bed_max_c=99.0, surfaces=("pei",))
    with record.writing() as unit:
        assert unit.fleet.save_printer(changed) is False
        assert unit.fleet.save_printer(a_printer("new")) is True
    with record.reading() as unit:
        found = unit.fleet.load().printers
    assert found == (printers[0], changed, *printers[2:], a_printer("new"))


def test_own_recipes_are_told_from_none(record: Record) -> None:
    scenario = a_scenario(spools=[a_spool("s1", drying=()), a_spool("s2", drying=None)])
    assert [spool.drying for spool in recorded(record, scenario).spools] == [(), None]


def test_replacing_a_shop_leaves_nothing_of_the_one_before(record: Record) -> None:
    first, _ = read_scenario_file(WORKED_EXAMPLE / "scenario.json")
    recorded(record, first)
    second = a_scenario(jobs=[a_job("J9", same_lot_as="J8"), a_job("J8")])
    assert recorded(record, second) == second
    assert recorded(record, first) == first


def test_without_a_shop_loading_says_how_to_record_one(record: Record) -> None:
    with record.reading() as unit:
        assert unit.fleet.version() == 0
        with pytest.raises(NoShop, match="soakline import"):
            unit.fleet.load()
