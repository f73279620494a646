"""A shop's humidity: fixed, by hour, from a sensor."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduler.physics.climate import Climate, Reading, read_sensor
from scheduler.physics.nonsense import Nonsense

BERLIN = ZoneInfo("Europe/Berlin")
NOON = datetime(2031, 3, 3, 12, tzinfo=UTC)


def test_a_fixed_humidity_is_the_same_all_day() -> None:
    climate = Climate.fixed(55, 21)
    assert climate.humidity_pct(NOON, BERLIN) == climate.mean_pct() == 55
    assert climate.air(NOON, BERLIN).humidity == pytest.approx(0.55)


def test_hours_are_those_of_the_shops_own_clock() -> None:
    climate = Climate(tuple(float(hour) for hour in range(24)), 21)
    assert climate.humidity_pct(NOON, BERLIN) == 13
    assert climate.mean_pct() == pytest.approx(11.5)


def test_a_fresh_reading_comes_first_and_a_stale_one_does_not() -> None:
    readings = (Reading(NOON - timedelta(hours=5), 80, 25), Reading(NOON - timedelta(hours=1), 66, 24))
    climate = Climate((40.0,) * 24, 21, readings)
    assert climate.humidity_pct(NOON, BERLIN) == 66
    assert climate.air(NOON, BERLIN).temp_c == 24
    assert climate.humidity_pct(NOON + timedelta(hours=3), BERLIN) == 40
    assert climate.humidity_pct(NOON - timedelta(hours=6), BERLIN) == 40


def test_a_sensors_log_is_read_in_the_shops_time() -> None:
    text = "time,humidity_pct,temp_c\n2031-03-03T12:00,61,\n2031-03-03T10:00:00+00:00,58,22.5\n"
    first, second = read_sensor(text, BERLIN)
    assert (first.humidity_pct, first.temp_c) == (58, 22.5)
    assert second.at == datetime(2031, 3, 3, 11, tzinfo=UTC) and second.temp_c is None


def test_a_bad_log_tells_every_line() -> None:
    with pytest.raises(Nonsense) as told:
        read_sensor("time,humidity_pct\n2031-03-03T12:00,140\nnoon,50\n2031-03-03T13:00,50\n", BERLIN)
    assert "line 2: the relative humidity is 140 %" in str(told.value)
    assert "line 3" in str(told.value) and "line 4" not in str(told.value)
    with pytest.raises(Nonsense, match="no column humidity_pct"):
        read_sensor("time,rh\n", BERLIN)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: Climate.fixed(140, 21), "humidity is 140 %"),
        (lambda: Climate((50.0,) * 23, 21), "24 hours, not 23"),
        (lambda: Climate((50.0,) * 23 + (101.0,), 21), "at 23 h is 101 %"),
        (lambda: Climate.fixed(50, -273.15), "room's temperature is -273.15 °C"),
    ],
)
def test_nonsense_is_refused(make: object, said: str) -> None:
    assert callable(make)
    with pytest.raises(Nonsense, match=said):
        make()
