"""What people measure: recorded with its event, used by the model, refused where it can't be."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest

from scheduler.model import DryingRow, Scenario
from scheduler.office import measured, plans
from scheduler.office.refused import Refused
from scheduler.office.spool_water import course
from scheduler.office.water import compare, with_bodies
from scheduler.physics.derive import MaterialLimits, Surroundings, derive
from scheduler.physics.moisture.drying import DryerAir
from scheduler.physics.nonsense import Nonsense
from scheduler.store import Record, RoomAir
from tests.builders import (
    a_dryer,
    a_job,
    a_material,
    a_printer,
    a_scenario,
    a_site,
    a_spool,
    at,
)
from tests.office.conftest import StandingClock


@pytest.fixture
def scenario() -> Scenario:
    """One polycarbonate job whose only spool sits on a soft body."""
    material = a_material(polymer="PC", drying=(DryingRow(110, 6, False),), open_time_min=480)
    return a_scenario(
        site=a_site(timezone="Europe/Berlin"),
        materials=(material,),
        dryers=(a_dryer(max_c=120.0),),
        spools=(a_spool(body_max_c=80.0, dried=False),),
        printers=(a_printer(chamber_max_c=140.0, chamber_reach_c=182.0),),
        jobs=(a_job(),),
    )


def kinds(record: Record) -> list[str]:
    with record.reading() as unit:
        return [event.kind for event in unit.events.list()]


def heating_log(reach: float, day: int) -> str:
    rows = [
        f"2031-03-{day:02}T{6 + m // 60:02}:{m % 60:02}:00+00:00,"
        f"{reach - (reach - 20) * math.exp(-m / 46):.2f}"
        for m in range(70)
    ]
    return "time,temp_c\n" + "\n".join(rows)


def test_the_rooms_air_is_recorded_by_the_hour(shop: Record, clock: StandingClock) -> None:
    air = RoomAir(tuple(40.0 + hour for hour in range(24)), True, False)
    measured.record_room_air(shop, clock, air)
    with shop.reading() as unit:
        assert unit.water.room_air() == air
        assert measured.humidity_now(unit, unit.fleet.load(), clock()) == pytest.approx(51.5)
    assert kinds(shop)[0] == "room air recorded"
    with pytest.raises(Nonsense, match="at 3 h is 140 %"):
        measured.record_room_air(shop, clock, RoomAir((50.0,) * 3 + (140.0,) + (50.0,) * 20))
    assert len(kinds(shop)) == 1


def test_a_sensors_last_day_is_what_plans_are_made_with(shop: Record, clock: StandingClock) -> None:
    now = clock()
    rows = [f"{(now - timedelta(hours=back)).isoformat()},{60 + back}" for back in (1, 3, 30)]
    count = measured.record_readings(shop, clock, "time,humidity_pct\n" + "\n".join(rows), "log.csv")
    assert count == 3
    with shop.reading() as unit:
        assert measured.surroundings(unit, unit.fleet.load(), now).humidity_pct == pytest.approx(62)
    # The same log once more changes nothing.
    measured.record_readings(shop, clock, "time,humidity_pct\n" + rows[0], "log.csv")
    with shop.reading() as unit:
        assert len(unit.water.readings()) == 3
    with pytest.raises(Nonsense, match="line 2"):
        measured.record_readings(shop, clock, "time,humidity_pct\nnow,50\n", "log.csv")


def test_weighings_make_a_dryers_factor_and_its_air_keeps_it(shop: Record, clock: StandingClock) -> None:
    for hours, lost in ((1.5, 1.0), (2.0, 1.3), (2.5, 1.5)):
        found = measured.record_weighing(
            shop,
            clock,
            "D1",
            "s1",
            before_g=1240,
            after_g=1240 - lost,
            body_g=240,
            temp_c=80,
            hours=hours,
            stored_pct=50,
        )
    measured.record_dryer_air(shop, clock, "D1", DryerAir(dew_point_c=-20))
    with shop.reading() as unit:
        known = unit.water.dryers()["D1"]
        assert known.air.coil_factor == pytest.approx(found.factor.value)
        assert known.air.dew_point_c == -20
        assert known.factor is not None and known.factor.low <= known.factor.value <= known.factor.high
        assert [each.weighing.hours for each in unit.water.weighings("D1")] == [1.5, 2.0, 2.5]
    assert kinds(shop).count("spool weighed") == 3


def test_a_weighing_that_can_not_be_stores_nothing(shop: Record, clock: StandingClock) -> None:
    good = {
        "before_g": 1240.0,
        "after_g": 1239.0,
        "body_g": 240.0,
        "temp_c": 80.0,
        "hours": 2.0,
        "stored_pct": 50.0,
    }
    for dryer, spool, change, said in (
        ("D1", "s1", {"after_g": 1300.0}, "swapped"),
        ("D9", "s1", {}, "no dryer D9"),
        ("D1", "s9", {}, "no spool s9"),
        ("D1", "s1", {"temp_c": -300.0}, "absolute zero"),
    ):
        with pytest.raises((Nonsense, Refused), match=said):
            measured.record_weighing(shop, clock, dryer, spool, **{**good, **change})
    with shop.reading() as unit:
        assert unit.water.weighings("D1") == () and unit.water.dryers() == {}
    assert kinds(shop) == []


def test_logs_are_kept_with_their_day_and_a_falling_reach_is_seen(shop: Record, clock: StandingClock) -> None:
    for day, reach in ((3, 182), (10, 178), (17, 173), (24, 168)):
        measured.record_log(shop, clock, "P1", "heating", heating_log(reach, day), "log.csv")
    with shop.reading() as unit:
        logs, printer = unit.water.logs("P1"), unit.fleet.load().printers[0]
    assert [log.taken_on for log in logs] == [date(2031, 3, day) for day in (3, 10, 17, 24)]
    assert logs[0].fit.end_c.value == pytest.approx(182, abs=0.5)
    found = measured.reach_trend(printer, logs)
    assert found is not None and found.falls and found.weak
    with pytest.raises(Nonsense, match="needs the columns"):
        measured.record_log(shop, clock, "P1", "heating", "a,b\n", "log.csv")
    with pytest.raises(Refused, match="no machine P9"):
        measured.record_log(shop, clock, "P9", "heating", heating_log(180, 3), "log.csv")


def test_limits_are_recorded_for_a_material(shop: Record, clock: StandingClock) -> None:
    own = MaterialLimits(0.015, 3.0, 40.0, 15.0, 6.0)
    measured.record_limits(shop, clock, "ABS", own)
    with shop.reading() as unit:
        assert measured.surroundings(unit, unit.fleet.load(), clock()).of("ABS") == own
    with pytest.raises(Refused, match="no material cheese"):
        measured.record_limits(shop, clock, "cheese", MaterialLimits())


@pytest.mark.parametrize("with_model", [False, True])
def test_plans_use_the_model_only_where_the_shop_says_so(
    shop: Record, clock: StandingClock, with_model: bool
) -> None:
    measured.record_room_air(shop, clock, RoomAir(plan_with_model=with_model))
    run = plans.request_plan(shop, clock)
    plans.carry_out(shop, clock, run, 0.0, 1)
    with shop.reading() as unit:
        number = unit.runs.get(run).plan_number  # type: ignore[union-attr] # the run was just asked for
        stored = unit.plans.get(number or 0)
    assert stored is not None
    assert [job.job for job in stored.plan.jobs] == (["J1"] if with_model else [])
    if with_model:
        assert stored.plan.dryer_runs[0].setpoint_c == 80


def test_two_plans_are_told_apart(scenario: Scenario) -> None:
    found = compare(scenario, derive(scenario, Surroundings(50)).scenario, seconds=0, seed=1)
    assert found.rescued == {"J1"} and found.lost == set() and found.turned_late == set()
    assert found.dryer_hours(found.after) > found.dryer_hours(found.before) == 0
    assert with_bodies(scenario, 60).spools[0].body_max_c == 60
    with pytest.raises(Nonsense, match="body stands"):
        with_bodies(scenario, -300)


def test_a_spools_water_goes_down_in_its_run_and_up_on_the_machine(scenario: Scenario) -> None:
    derived = derive(scenario, Surroundings(50)).scenario
    plan = compare(derived, derived, seconds=0, seed=1).before
    climate = measured.Climate.fixed(50, 22)
    found = course(derived, plan, derived.spools[0], climate, Surroundings(50), at(0))
    assert found is not None
    values = dict(found.points)
    run = plan.dryer_runs[0]
    assert found.now_pct == pytest.approx(found.points[0][1])
    assert values[run.end] < found.limit_pct < found.points[0][1]
    assert found.starts[0][0] == "J1"
    assert found.allowed_pct is not None and found.allowed_pct >= found.limit_pct
    for (_, middle), (_, quick), (_, slow) in zip(found.points, found.quick, found.slow, strict=True):
        assert min(quick, slow) - 1e-6 <= middle <= max(quick, slow) + 1e-6
