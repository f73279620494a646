"""Exact solutions against figures from tables and against their limits."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scheduler.physics.moisture import series


def test_a_cylinders_half_ninety_and_ninety_nine_per_cent_come_when_the_tables_say() -> None:
    shares = series.cylinder_share(np.array([0.0631, 0.334, 0.733]))
    assert shares == pytest.approx([0.50, 0.90, 0.99], abs=5e-4)


def test_a_sheets_half_ninety_and_ninety_nine_per_cent_come_when_the_tables_say() -> None:
    shares = series.sheet_share(np.array([0.197, 0.848, 1.78]))
    assert shares == pytest.approx([0.50, 0.90, 0.99], abs=5e-4)


def test_the_first_roots_are_those_of_the_tables() -> None:
    # Incropera, tables 5.1 and appendix B.3: cylinder and wall at a Biot number of 1.
    assert series.cylinder_roots(1.0)[0] == pytest.approx(1.2558, abs=1e-4)
    assert series.sheet_roots(1.0)[:2] == pytest.approx([0.8603, 3.4256], abs=1e-4)
    assert series.cylinder_roots(math.inf)[0] == pytest.approx(2.404826, abs=1e-6)


@pytest.mark.parametrize("biot", [0.01, 0.3, 4.0, 90.0, math.inf])
def test_nothing_has_happened_at_first_and_everything_in_the_end(biot: float) -> None:
    for share in (series.cylinder_share, series.sheet_share):
        first, last = share(np.array([0.0, 3000.0 if biot < 1 else 50.0]), biot)
        assert first == pytest.approx(0.0, abs=1e-5)
        assert last == pytest.approx(1.0, abs=1e-9)


def test_a_small_biot_number_is_the_lumped_limit() -> None:
    times = np.array([1.0, 20.0, 100.0])
    exact = series.cylinder_share(times, 0.005)
    assert exact == pytest.approx(series.lumped_share(times, 0.005), abs=2e-3)


def test_a_short_time_is_the_half_space_limit() -> None:
    times = np.array([1e-6, 1e-5, 5e-5])
    exact = series.cylinder_share(times)
    assert exact == pytest.approx(series.half_space_share(times), rel=0.01)


def test_the_short_form_meets_the_sum() -> None:
    below, above = series.cylinder_share(np.array([series.SHORT * 0.999999, series.SHORT * 1.000001]))
    assert above == pytest.approx(below, abs=1e-6)


def test_the_middle_of_a_sheet_lags_behind_its_mean() -> None:
    time = np.array([0.2])
    middle, skin = series.sheet_left(time, 0.0), series.sheet_left(time, 1.0)
    assert skin[0] == pytest.approx(0.0, abs=1e-9)
    assert middle[0] > 1 - series.sheet_share(time)[0] > skin[0]
