"""Drying runs, open times, weighings: hours that hold, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduler.model import DryingRow
from scheduler.physics.moisture.air import Air
from scheduler.physics.moisture.drying import DryerAir, anchor, end_of_run, must_stand, row_hours, run_to
from scheduler.physics.moisture.open_time import at_humidity, exposed, open_time
from scheduler.physics.moisture.polymers import known_polymer
from scheduler.physics.moisture.strand import Strand
from scheduler.physics.moisture.weighing import Weighing, calibrate
from scheduler.physics.nonsense import Nonsense

ROOM = Air.of_room(22, 50)
PC, PA6 = known_polymer("PC"), known_polymer("PA6")


def wet(name: str, humidity: float = 0.5) -> Strand:
    return Strand.even(1.75, known_polymer(name).isotherm.moisture_pct(humidity, 22))


def test_a_cooler_run_is_longer_and_a_vacuum_shorter() -> None:
    hours = {
        temp: run_to(PA6, wet("PA6"), DryerAir().around(ROOM, temp, False), 0.2).hours
        for temp in (70, 90, 110)
    }
    assert hours[70] > hours[90] > hours[110] > 0  # type: ignore[operator] # all three are reached
    vacuum = run_to(PA6, wet("PA6"), DryerAir().around(ROOM, 70, True), 0.2).hours
    assert vacuum is not None and hours[70] is not None and vacuum < hours[70] / 2


def test_room_air_keeps_water_in_what_is_dried_too_cool() -> None:
    found = run_to(PC, wet("PC"), DryerAir().around(ROOM, 50, False), 0.02)
    assert found.hours is None
    assert found.rests_pct > 0.02
    desiccant = run_to(PC, wet("PC"), DryerAir(dew_point_c=-30).around(ROOM, 50, False), 0.02)
    assert desiccant.hours is not None


def test_what_is_dry_already_needs_no_run() -> None:
    assert run_to(PC, Strand.even(1.75, 0.01), DryerAir().around(ROOM, 110, False), 0.02).hours == 0


def test_the_range_of_the_diffusivity_is_the_range_of_the_hours() -> None:
    found = run_to(PC, wet("PC"), DryerAir().around(ROOM, 100, False), 0.02)
    assert found.quick_h is not None and found.slow_h is not None and found.hours is not None
    assert found.quick_h < found.hours < found.slow_h


def test_a_recipe_that_reaches_the_limit_lends_its_reserve() -> None:
    rows = (DryingRow(110, 6, False), DryingRow(100, 8, False))
    known = anchor(PC, 1.75, rows, 80, False, 0.02, DryerAir(), 22)
    assert known.row == rows[1]
    assert known.goal_pct == 0.02 and known.misses < 1
    needed = run_to(PC, wet("PC"), DryerAir().around(ROOM, 100, False), 0.02).hours
    assert needed is not None
    assert known.reserve == pytest.approx(8 / needed)


def test_a_recipe_that_misses_the_limit_is_the_goal_itself() -> None:
    rows = (DryingRow(50, 6, False),)
    known = anchor(known_polymer("PLA"), 1.75, rows, 45, False, 0.025, DryerAir(), 22)
    assert known.misses > 2
    assert known.goal_pct == pytest.approx(known.misses * 0.025)
    assert known.reserve == pytest.approx(1.0, abs=1e-6)


def test_without_a_recipe_the_model_stands_alone() -> None:
    assert anchor(PC, 1.75, (), 80, False, 0.02, DryerAir(), 22).reserve == 1.0


def test_hours_are_rounded_up_to_halves() -> None:
    assert [row_hours(hours) for hours in (1.0, 1.01, 1.5000000001, 25.9)] == [1.0, 1.5, 1.5, 26.0]


def test_a_run_hotter_than_the_body_is_refused() -> None:
    must_stand(80, 80)
    with pytest.raises(Nonsense, match="run at 120 °C is hotter than the spool's body stands, 80 °C"):
        must_stand(120, 80)


def test_a_humid_room_shortens_and_a_dry_one_lengthens_the_open_time() -> None:
    limit = PC.limit.value
    assert at_humidity(PC, 1.75, 480, 22, 50, limit) == 480
    assert at_humidity(PC, 1.75, 480, 22, 70, limit) < 480
    assert 480 < at_humidity(PC, 1.75, 480, 22, 30, limit) <= 960
    assert at_humidity(PC, 1.75, 480, 22, 0, limit) == 960


def test_the_outermost_strand_is_open_for_less_than_the_spool() -> None:
    found = open_time(PC, 1.75, ROOM, 0.02)
    assert found.strand_min is not None and found.spool_min is not None
    assert found.strand_min < found.spool_min
    assert open_time(PC, 1.75, Air.of_room(22, 2), 0.02).spool_min is None
    with pytest.raises(Nonsense, match="dry it first"):
        open_time(PC, 1.75, ROOM, 0.02, from_pct=0.03)


def test_the_open_time_is_when_the_limit_is_met() -> None:
    found = open_time(PC, 1.75, ROOM, 0.02).spool_min
    assert found is not None
    assert exposed(PC, Strand.even(1.75, 0.01), ROOM, found).mean_pct == pytest.approx(0.02, abs=2e-4)


def weighed(hours: float, factor: float, noise_g: float = 0.0) -> Weighing:
    blank = Weighing(PA6, 1.75, 1220.0, 1219.0, 220.0, 80, hours, False, 50)
    lost = blank.expected_g(DryerAir(coil_factor=factor), ROOM)
    return replace(blank, after_g=1220.0 - lost - noise_g)


@pytest.mark.parametrize("factor", [0.3, 1.0, 2.5])
def test_weighings_find_the_factor_that_made_them(factor: float) -> None:
    runs = [weighed(4, factor, 0.2), weighed(8, factor, -0.2), weighed(16, factor, 0.1), weighed(12, factor)]
    found = calibrate(runs, DryerAir(), ROOM)
    assert found.factor.low <= factor <= found.factor.high
    assert found.factor.value == pytest.approx(factor, rel=0.15)
    assert found.warnings == ()


def test_weighings_that_cannot_tell_say_so() -> None:
    blank = Weighing(known_polymer("PPS"), 1.75, 1220.0, 1219.9, 220.0, 120, 5, False, 50)
    found = calibrate([blank], DryerAir(), ROOM)
    assert any("hardly tell" in warning for warning in found.warnings)
    assert any("one weighing" in warning for warning in found.warnings)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"after_g": 1300.0}, "swapped"),
        ({"body_g": 1500.0}, "no filament left"),
        ({"hours": 0.0}, "hours in the dryer is 0 h"),
        ({"stored_pct": 140.0}, "relative humidity is 140 %"),
    ],
)
def test_nonsense_is_refused(change: dict[str, float], said: str) -> None:
    good = weighed(6, 1.0)
    with pytest.raises(Nonsense, match=said):
        replace(good, **change)


def test_the_end_of_a_run_begins_once_the_coil_is_warm() -> None:
    around = DryerAir().around(ROOM, 110, False)
    assert end_of_run(PC, wet("PC"), around, 0.5).mean_pct == pytest.approx(wet("PC").mean_pct)
    assert end_of_run(PC, wet("PC"), around, 6).mean_pct < 0.02
