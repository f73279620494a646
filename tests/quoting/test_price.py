"""Prices by hand-computed figures."""

from __future__ import annotations

from decimal import Decimal

import pytest

from scheduler.quoting.price import BadSheet, PriceSheet, cents, money, price, sheet_of
from tests.builders import a_feed, a_job, a_plan, a_planned_job, a_printer, a_scenario


def test_each_line_is_that_of_a_pocket_calculator() -> None:
    scenario = a_scenario(
        jobs=(a_job("J1", feeds=(a_feed(grams=100.0),), finish_min=15),),
        printers=(a_printer("P1", chamber_max_c=90.0),),
    )
    # changeover 0-10, preheat 10-70, start 70-75, print 75-375, cool-down 375-435, unload 435-445
    plan = a_plan(jobs=(a_planned_job("J1", 0, 10, 70, 75, 375, 435, 445),))
    sheet = PriceSheet(
        tax_percent=Decimal("19.5"),
        machine_h_cents={0: 400, 60: 600, 100: 1200},
        material_kg_cents={"": 9000, "ABS": 5000},
        waste_percent=Decimal(10),
        purge_g=Decimal(10),
        hands_h_cents=6000,
        minimum_cents=0,
    )
    planned = plan.jobs[0]
    minutes = [int((s.end - s.start).total_seconds()) // 60 for s in planned.steps]
    machine = round(sum(minutes) * 600 / 60)
    hands = (minutes[0] + minutes[2] + minutes[5] + 15) * 100
    found = price(sheet, scenario, plan, ["J1"])
    assert [line.cents for line in found.lines] == [machine, 600, hands, 0]
    assert found.net_cents == machine + 600 + hands
    assert found.tax_cents == cents(found.net_cents * Decimal("0.195"))
    assert found.cents == found.net_cents + found.tax_cents
    rushed = price(sheet, scenario, plan, ["J1"], factor=Decimal("1.25"), overtime_min=60)
    assert rushed.net_cents == found.net_cents + cents(found.net_cents * Decimal("0.25")) + 3000 + 6000


def test_no_quote_is_under_the_minimum() -> None:
    scenario = a_scenario()
    found = price(PriceSheet(minimum_cents=1_000_000), scenario, a_plan(jobs=(a_planned_job(),)), ["J1"])
    assert found.net_cents == 1_000_000 and found.lines[-1].what == "up to the minimum"


def test_halves_of_a_cent_go_up() -> None:
    assert [cents(Decimal(text)) for text in ("0.5", "1.5", "2.49", "-0.5")] == [1, 2, 2, -1]
    assert money(123405, "EUR") == "1234.05 EUR" and money(-5, "EUR") == "-0.05 EUR"


def test_a_sheet_survives_its_record_and_tells_all_that_is_wrong() -> None:
    sheet = PriceSheet(rush_factor=Decimal("1.333"), material_kg_cents={"": 1, "PEEK": 70000})
    assert sheet_of(sheet.content()) == sheet
    assert sheet_of(None) == PriceSheet()
    with pytest.raises(BadSheet) as error:
        PriceSheet(currency="euro", tax_percent=Decimal(101), machine_h_cents={50: -1})
    assert len(str(error.value).splitlines()) == 4
    with pytest.raises(BadSheet, match="rush factor"):
        sheet_of({**sheet.content(), "rush_factor": "much"})
    with pytest.raises(BadSheet, match="rush factor"):
        sheet_of({**sheet.content(), "rush_factor": "NaN"})
