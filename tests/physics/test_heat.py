"""Heating, cooling and conduction: by hand, against series, and from logs that are made up."""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest

from scheduler.model import Span
from scheduler.physics import chamber_minutes, cooldown, cooldown_c, decayed_c, preheat_minutes, setpoint_c
from scheduler.physics.conduction import (
    FAN_W,
    SUBSTANCES,
    Shape,
    Substance,
    slowest_cooling,
    soak,
    substance,
)
from scheduler.physics.fitting import Estimate, fit_cooling, fit_heating
from scheduler.physics.logs import cooling_part, heating_part, read_log
from scheduler.physics.moisture.series import sheet_left
from scheduler.physics.nonsense import Nonsense
from scheduler.physics.reach import Reach, trend
from tests.builders import a_printer

HOT = a_printer(
    chamber_max_c=140.0,
    chamber_reach_c=182.0,
    heat_tau_min=46.0,
    cool_tau_min=70.0,
    bed_heat_min=22,
    bed_cool_min=20,
)


def test_the_contracts_formulas_by_hand() -> None:
    # 46 ln((182-22)/(182-140)) = 46 * 1.33750 = 61.525; 70 ln(118/48) = 70 * 0.89948 = 62.964
    assert chamber_minutes(22, 140, 200, HOT, 22) == pytest.approx(61.525, abs=1e-3)
    assert preheat_minutes(22, 140, 200, 20, HOT, 22) == 82
    assert preheat_minutes(139, 140, 200, 20, HOT, 22) == 42
    assert chamber_minutes(140, 60, 70, HOT, 22) == pytest.approx(62.964, abs=1e-3)
    assert decayed_c(140, 70, 70, 22) == pytest.approx(22 + 118 / math.e)
    assert setpoint_c(160, Span(90, 200), HOT, 22) == 140
    # At 0.8 °C/min the fall is even down to 22 + 0.8 * 70 = 78 °C: 77.5 min; then 70 ln(56/48) = 10.79.
    slow = cooldown(140, 70, 0.8, HOT, 22)
    assert slow.minutes == 89
    assert cooldown_c(140, 77.5, 0.8, 70, 22) == pytest.approx(78)
    assert slow.end_c == pytest.approx(22 + 56 * math.exp(-(89 - 77.5) / 70))


def made_log(
    minutes: np.ndarray, seed: int, noise_k: float = 0.5, reach: float = 182, tau: float = 46
) -> np.ndarray:
    dice = np.random.default_rng(seed)
    return reach - (reach - 22) * np.exp(-minutes / tau) + dice.normal(0, noise_k, len(minutes))


def test_a_heating_fit_finds_what_made_the_log() -> None:
    minutes = np.arange(0, 62, 1.0)
    inside = 0
    for seed in range(40):
        fit = fit_heating(minutes, made_log(minutes, seed))
        assert fit.tau_min.value == pytest.approx(46, rel=0.06)
        inside += fit.tau_min.low <= 46 <= fit.tau_min.high and fit.end_c.low <= 182 <= fit.end_c.high
    # 95 % intervals of two figures: nine in ten at the least must hold both.
    assert inside >= 35


def test_an_opened_door_and_lost_readings_do_not_bend_the_fit() -> None:
    minutes = np.arange(0, 62, 1.0)
    temps = made_log(minutes, 3)
    temps[[7, 8, 30]] -= 45
    temps[50] = 0
    fit = fit_heating(minutes, temps)
    assert fit.tau_min.value == pytest.approx(46, rel=0.08)
    assert fit.end_c.value == pytest.approx(182, rel=0.04)


def test_a_cooling_fit_with_the_room_known_is_surer() -> None:
    minutes = np.arange(0, 120, 2.0)
    temps = 22 + 118 * np.exp(-minutes / 70) + np.random.default_rng(5).normal(0, 0.5, 60)
    known, free = fit_cooling(minutes, temps, 22), fit_cooling(minutes, temps)
    assert known.tau_min.value == pytest.approx(70, rel=0.02)
    assert known.tau_min.width < free.tau_min.width
    assert known.at(np.array([0.0]))[0] == pytest.approx(140, abs=1)


def test_a_fit_says_when_it_is_poor_or_short() -> None:
    minutes = np.arange(0, 62, 1.0)
    two_masses = 100 - 40 * np.exp(-minutes / 3) + 10 * np.sin(minutes / 4)
    assert any("poor fit" in text for text in fit_heating(minutes, two_masses).warnings)
    short = fit_heating(minutes[:12], made_log(minutes[:12], 9))
    assert any("short log" in text or "unsure" in text for text in short.warnings)
    assert fit_heating(minutes, made_log(minutes, 1)).warnings == ()


@pytest.mark.parametrize(
    ("minutes", "temps", "said"),
    [
        ([0, 1, 2], [20, 30, 40], "needs 6 readings"),
        ([0, 1, 2, 2, 4, 5], [20, 30, 40, 50, 60, 70], "do not go forward"),
        ([0, 1, 2, 3, 4, 5], [70, 60, 50, 40, 30, 20], "no rise to fit"),
        ([0, 1, 2, 3, 4, 5], [20, math.nan, 50, 40, 30, 20], "no number"),
    ],
)
def test_no_fit_is_made_of_nonsense(minutes: list[float], temps: list[float], said: str) -> None:
    with pytest.raises(Nonsense, match=said):
        fit_heating(minutes, temps)


def test_a_log_is_read_and_cut_into_its_parts() -> None:
    minutes = np.arange(0, 200, 1.0)
    temps = np.where(minutes < 60, 182 - 160 * np.exp(-minutes / 46), 138.7)
    temps = np.where(minutes > 120, 22 + 116.7 * np.exp(-(minutes - 120) / 70), temps)
    text = "minutes,temp_c\n" + "\n".join(
        f"{at:g},{temp:.2f}" for at, temp in zip(minutes, temps, strict=True)
    )
    log = read_log(text)
    heating, cooling = heating_part(log), cooling_part(log)
    assert heating[0][0] == 0 and 55 <= heating[0][-1] <= 60
    assert 119 <= cooling[0][0] <= 122 and cooling[0][-1] == 199
    assert fit_heating(*heating).tau_min.value == pytest.approx(46, rel=0.02)
    assert fit_cooling(*cooling, room_c=22).tau_min.value == pytest.approx(70, rel=0.02)


def test_a_bad_log_tells_every_line() -> None:
    with pytest.raises(Nonsense) as told:
        read_log("time,temp_c\n2031-03-03T06:00,22\nsoon,23\n2031-03-03T06:02,-300\n")
    assert "line 3" in str(told.value) and "line 4" in str(told.value) and "line 2" not in str(told.value)
    with pytest.raises(Nonsense, match="needs the columns temp_c"):
        read_log("hour,heat\n1,2\n")
    with pytest.raises(Nonsense, match="line 3: the time does not go forward"):
        read_log("minutes,temp_c\n5,22\n4,23\n")


def reaches(values: list[float], width: float = 2.0) -> list[Reach]:
    first = date(2031, 1, 6)
    return [
        Reach(first + timedelta(weeks=4 * number), Estimate(value, value - width, value + width))
        for number, value in enumerate(values)
    ]


def test_a_falling_reach_is_noticed_and_a_steady_one_is_not() -> None:
    falling = trend(reaches([182, 179, 177.5, 174, 171]), 182, 140)
    assert falling.falls and falling.weak and falling.spent_on is not None
    assert "falls by" in falling.text and "door seal" in falling.text
    steady = trend(reaches([182, 181, 183, 182, 181.5]), 182, 140)
    assert not steady.falls and not steady.weak and steady.spent_on is None
    one = trend(reaches([160]), 182, 140)
    assert one.weak and one.per_year is None and "on record" in one.text


def test_a_soak_is_as_long_as_the_series_says() -> None:
    peek = substance("PEEK-CF")
    found = soak(peek, 40, 22, 190, 5)
    fourier = peek.diffusivity * found.minutes * 60 / 0.02**2
    assert 168 * sheet_left(fourier, 0.0, found.biot)[0] <= 5
    assert 168 * sheet_left(fourier * (1 - 1.01 / found.minutes), 0.0, found.biot)[0] > 5
    assert soak(peek, 40, 190, 190).minutes == 0


def test_a_thin_good_conductor_is_one_lump() -> None:
    plate = soak(substance("aluminium"), 8, 22, 140, 5, both_faces=False)
    # 2700*900*0.008/12 = 1620 s; ln(118/5) = 3.161; 85.4 min
    assert plate.lumped and plate.minutes == 86
    assert soak(substance("aluminium"), 8, 22, 140, 5, FAN_W, both_faces=False).minutes < plate.minutes
    edge = Substance("edge", 0.2, 1200, 1400)
    below, above = (soak(edge, thickness, 22, 140, 5, 2.0).minutes for thickness in (19.9, 20.1))
    # Where the lump gives way to the series the answer must not jump.
    assert above == pytest.approx(below, rel=0.06)


@pytest.mark.parametrize("shape", ["sheet", "rod", "ball"])
def test_a_part_cooled_at_the_rate_stays_as_even_as_asked(shape: Shape) -> None:
    peek = substance("PEEK")
    rate = slowest_cooling(peek, 30, 15, shape) / 60
    # March the cross-section explicitly, its skin falling at that rate, until the lag has settled.
    count = {"sheet": 0, "rod": 1, "ball": 2}[shape]
    nodes = np.linspace(0, 0.015, 61)
    step = nodes[1]
    temps = np.full(61, 200.0)
    dt = 0.2 * step**2 / peek.diffusivity
    edges = (nodes[1:] + nodes[:-1]) / 2
    for _ in range(int(2.0 * 0.015**2 / peek.diffusivity / dt)):
        flows = edges**count * np.diff(temps) / step
        inner = np.concatenate(([0.0], flows[:-1]))
        outer_edge = np.concatenate(([step / 2], edges[1:]))
        inner_edge = np.concatenate(([0.0], edges[:-1]))
        volume = (outer_edge ** (count + 1) - inner_edge ** (count + 1)) / (count + 1)
        temps[:-1] += dt * peek.diffusivity * (flows - inner) / volume
        temps[-1] -= rate * dt
    assert temps[0] - temps[-1] == pytest.approx(15, rel=0.03)


def test_the_slower_of_part_and_material_counts() -> None:
    peek = substance("PEEK")
    assert slowest_cooling(peek, 5, 20, cap_c_per_min=0.7) == 0.7
    assert slowest_cooling(peek, 60, 20, cap_c_per_min=0.7) < 0.7


def test_every_substance_has_a_plausible_diffusivity() -> None:
    for each in SUBSTANCES.values():
        assert 5e-8 < each.diffusivity < 1e-4


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: soak(substance("PEEK"), -4, 22, 190), "thickness is -4 mm"),
        (lambda: soak(substance("PEEK"), 4, -280, 190), "absolute zero"),
        (lambda: soak(substance("PEEK"), 900, 22, 190), "longer than a week"),
        (lambda: slowest_cooling(substance("PEEK"), 4, 0), "difference allowed is 0 K"),
        (lambda: substance("butter"), "no heat figures"),
    ],
)
def test_nonsense_is_refused(make: object, said: str) -> None:
    assert callable(make)
    with pytest.raises(Nonsense, match=said):
        make()
