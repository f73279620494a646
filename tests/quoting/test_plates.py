"""Quantities dealt out to plates."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from scheduler.matching import Matcher
from scheduler.model import Scenario
from scheduler.quoting.ask import Ask, AskLine, BadAsk, ask_of, must_be_possible
from scheduler.quoting.plates import jobs_of, missing_spools, split
from tests.builders import a_printer, a_scenario, a_shift, a_spool

DAY = 24 * 60
LINE = AskLine("clip", 10, "ABS", (40.0, 40.0, 20.0), 60.0, 20.0, nozzle_mm=(0.4,))


def shop(**changes: Any) -> Scenario:
    given: dict[str, Any] = {
        "shifts": tuple(a_shift(n * DAY, n * DAY + 600) for n in range(5)),
        "printers": (a_printer("P1", unattended=True, volume_mm=(200.0, 200.0, 200.0)),),
        "spools": (a_spool("s1", grams=4000.0),),
        "jobs": (),
    }
    return a_scenario(**{**given, **changes})


def test_the_night_limits_long_prints_and_the_plate_short_ones() -> None:
    # 14 hours of night: 14 hours of print on a plate at most.
    by_night = split(replace(LINE, print_min=200.0), shop())
    assert by_night.plates == (4, 3, 3) and "14.0 h" in by_night.reason
    # 4 x 4 parts of 40 mm with 5 mm between them on 200 mm.
    by_room = split(replace(LINE, quantity=40, print_min=5.0), shop())
    assert by_room.plates == (14, 13, 13) and "hold 16" in by_room.reason
    assert split(replace(LINE, quantity=3), shop()).plates == (3,)


def test_the_fullest_spool_limits_heavy_parts() -> None:
    found = split(replace(LINE, grams=450.0, print_min=5.0), shop(spools=(a_spool("s1", grams=1000.0),)))
    assert found.plates == (2, 2, 2, 2, 2) and "fullest spool" in found.reason


def test_what_no_machine_takes_is_one_a_plate() -> None:
    found = split(replace(LINE, size_mm=(900.0, 10.0, 10.0), quantity=3), shop())
    assert found.plates == (1, 1, 1) and "no machine" in found.reason


def test_every_plate_fits_and_all_parts_are_there() -> None:
    scenario = shop()
    for quantity in (1, 2, 5, 16, 17, 33, 100):
        line = replace(LINE, quantity=quantity, one_lot=True)
        jobs = jobs_of(Ask((line, line)), "Q-7", scenario.site.plan_start, scenario)
        matcher = Matcher(replace(scenario, jobs=jobs))
        assert sum(job.quantity for job in jobs) == 2 * quantity
        assert all(matcher.fits_something(job.id) for job in jobs)
        first = [job.id for job in jobs if job.same_lot_as is None]
        assert len(first) == 2 and len({job.id for job in jobs}) == len(jobs)


def test_what_stock_cannot_feed_is_bought() -> None:
    scenario = shop(spools=(a_spool("s1", grams=500.0),))
    jobs = jobs_of(Ask((LINE,)), "Q-7", scenario.site.plan_start, scenario)
    assert missing_spools(jobs, scenario, {}, 3, "Q-7") == ()
    bought = missing_spools(jobs, scenario, {"s1": 400.0}, 3, "Q-7")
    assert [spool.id for spool in bought] == ["Q-7-buy-1"]
    assert (bought[0].available_from - scenario.site.plan_start).days == 3


def test_a_request_survives_its_record_and_faults_come_all_at_once() -> None:
    ask = Ask((LINE, replace(LINE, certs=("lot",))), None, None)
    assert ask_of(ask.content()) == ask
    materials = {material.id: material for material in shop().materials}
    must_be_possible(ask, materials)
    bad = replace(LINE, quantity=0, material="unobtainium", grams=-1.0, size_mm=(0.0, 1.0, 1.0))
    with pytest.raises(BadAsk) as error:
        must_be_possible(Ask((LINE, bad)), materials)
    assert [line[:7] for line in str(error.value).splitlines()] == ["line 2:"] * 4
