"""One filament: agreement with the exact solution, mass, and what a history must keep."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.physics.moisture import series
from scheduler.physics.moisture.grid import FINE, grid
from scheduler.physics.moisture.strand import Stage, Strand
from scheduler.physics.nonsense import Nonsense

FOURIERS = np.array([1e-5, 1e-4, 1e-3, 0.01, 0.0631, 0.2, 0.334, 0.733, 2.0])
BIOTS = (0.01, 0.1, 1.0, 10.0, 300.0, math.inf)


@pytest.mark.parametrize("biot", BIOTS)
@pytest.mark.parametrize("filament_mm", [1.75, 2.85])
def test_the_rings_agree_with_the_series_to_a_ten_thousandth(biot: float, filament_mm: float) -> None:
    strand = Strand.even(filament_mm, 1.0)
    stage = Stage(2e-12, 0.0, biot)
    minutes = FOURIERS * strand.radius_m**2 / 2e-12 / 60
    left = strand.means(stage, minutes)
    assert np.abs(1 - left - series.cylinder_share(FOURIERS, biot)).max() < 1e-4
    stepped = [strand.after(stage, float(each)).mean_pct for each in minutes]
    assert stepped == pytest.approx(list(left), abs=1e-9)


stages = st.builds(
    Stage,
    st.floats(1e-14, 1e-10),
    st.floats(0, 8),
    st.one_of(st.floats(0.01, 500), st.just(math.inf)),
)


@settings(deadline=None, max_examples=40)
@given(first=st.floats(0, 8), way=st.lists(st.tuples(stages, st.floats(0, 5000)), min_size=1, max_size=4))
def test_a_history_stays_between_its_extremes(first: float, way: list[tuple[Stage, float]]) -> None:
    strand = Strand.even(1.75, first)
    lowest = min(first, *(stage.equilibrium_pct for stage, _ in way))
    highest = max(first, *(stage.equilibrium_pct for stage, _ in way))
    for stage, minutes in way:
        strand = strand.after(stage, minutes)
        assert strand.profile.min() >= lowest - 1e-9
        assert strand.profile.max() <= highest + 1e-9


def test_a_stage_cut_in_two_is_the_same_stage() -> None:
    stage = Stage(1e-12, 0.4, 3.0)
    whole = Strand.even(1.75, 1.0).after(stage, 300)
    halves = Strand.even(1.75, 1.0).after(stage, 100).after(stage, 200)
    assert halves.profile == pytest.approx(whole.profile, abs=1e-12)


def test_nothing_passes_a_closed_surface() -> None:
    uneven = Strand(0.875e-3, np.linspace(0.0, 2.0, FINE))
    sealed = uneven.after(Stage(1e-11, 5.0, 1e-12), 1000)
    assert sealed.mean_pct == pytest.approx(uneven.mean_pct, abs=1e-9)
    assert np.ptp(sealed.profile) < 0.1 * np.ptp(uneven.profile)


def test_the_profile_is_kept_between_stages() -> None:
    wet = Strand.even(1.75, 1.0)
    drying, shelf = Stage(1e-11, 0.0, math.inf), Stage(1e-12, 0.0, 1e-12)
    dried = wet.after(drying, 30)
    assert dried.profile[0] > 5 * dried.profile[-1]
    rested = dried.after(shelf, 2000)
    # Rest spreads what is left inside; the skin is wetter then than it was out of the oven.
    assert rested.profile[-1] > dried.profile[-1]


def test_the_time_until_is_the_time_at_which() -> None:
    strand = Strand.even(1.75, 0.5)
    stage = Stage(8e-12, 0.01, 4.0)
    minutes = strand.minutes_until(0.02, stage)
    assert minutes is not None
    assert strand.after(stage, minutes).mean_pct == pytest.approx(0.02, abs=1e-7)


def test_what_is_never_reached_has_no_time() -> None:
    strand = Strand.even(1.75, 0.5)
    assert strand.minutes_until(0.02, Stage(8e-12, 0.03, 4.0)) is None
    assert strand.minutes_until(0.6, Stage(8e-12, 0.03, 4.0)) is None
    assert strand.minutes_until(strand.mean_pct, Stage(8e-12, 0.03, 4.0)) == 0.0
    assert strand.minutes_until(0.02, Stage(1e-20, 0.0, 4.0)) is None


def test_the_rings_fill_the_cross_section() -> None:
    assert grid(FINE).volumes.sum() == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: Strand.even(-1.75, 1), "the filament's diameter is -1.75 mm"),
        (lambda: Strand.even(1.75, -1), "the moisture is -1 %"),
        (lambda: Stage(0, 1, 1), "the diffusivity is 0 m²/s"),
        (lambda: Stage(1e-12, -0.1, 1), "the equilibrium moisture is -0.1 %"),
        (lambda: Stage(1e-12, 0.1, 0), "the Biot number is 0"),
        (lambda: Strand.even(1.75, math.nan), "must be a number"),
    ],
)
def test_nonsense_is_refused(make: object, said: str) -> None:
    assert callable(make)
    with pytest.raises(Nonsense, match=said):
        make()
