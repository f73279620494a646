"""Air, sorption and the coil, against figures of tables and by hand."""

from __future__ import annotations

import math

import pytest

from scheduler.physics.moisture.air import Air, diffusivity_m2_per_s, saturation_pa, vapour_kg_per_m3
from scheduler.physics.moisture.coil import BARE, FAN, STILL, WOUND, Around, Coil, conductance_m_per_s, stage
from scheduler.physics.moisture.polymers import POLYMERS, known_polymer, polymer_of
from scheduler.physics.moisture.sorption import Diffusivity, Isotherm
from scheduler.physics.moisture.table import SOURCES
from scheduler.physics.nonsense import Nonsense
from tests.builders import a_material


@pytest.mark.parametrize(
    ("temp_c", "pressure_pa"),
    # Steam tables (IAPWS) and, over ice, Murphy and Koop's own table.
    [(20, 2339.3), (25, 3169.9), (60, 19946), (100, 101418), (150, 476160), (-20, 103.26), (-40, 12.84)],
)
def test_saturation_is_that_of_the_tables(temp_c: float, pressure_pa: float) -> None:
    assert saturation_pa(temp_c) == pytest.approx(pressure_pa, rel=1e-3)


def test_water_and_ice_meet_at_the_triple_point() -> None:
    assert saturation_pa(0.0101) == pytest.approx(saturation_pa(0.0099), rel=1e-3)
    assert saturation_pa(0.01) == pytest.approx(611.66, rel=1e-3)


def test_heated_room_air_keeps_its_vapour() -> None:
    room = Air.of_room(22, 50)
    oven = room.heated(120)
    assert oven.vapour_pa == room.vapour_pa
    assert oven.humidity == pytest.approx(1323 / 198_670, rel=0.01)


def test_a_vacuum_thins_the_vapour() -> None:
    oven = Air.of_room(22, 50).heated(80)
    assert oven.evacuated(1013.25).humidity == pytest.approx(oven.humidity / 100)
    assert diffusivity_m2_per_s(80, 1013.25) == pytest.approx(100 * diffusivity_m2_per_s(80))


def test_a_dew_point_is_the_vapour_over_it() -> None:
    assert Air.of_dew_point(80, -30).vapour_pa == pytest.approx(38.0, rel=0.01)


def test_vapour_in_air_moves_as_measured() -> None:
    assert diffusivity_m2_per_s(25) == pytest.approx(2.5e-5, rel=0.02)
    assert vapour_kg_per_m3(saturation_pa(22), 22) == pytest.approx(0.0194, rel=0.01)


def test_arrhenius_gives_both_of_two_measured_values() -> None:
    polyetherimide = POLYMERS["PEI"].motion
    assert polyetherimide.m2_per_s(20) == pytest.approx(1e-12, rel=0.02)
    assert polyetherimide.m2_per_s(100) == pytest.approx(16e-12, rel=0.02)


def test_henrys_law_is_a_straight_line_and_a_power_is_not() -> None:
    assert Isotherm(0.8).moisture_pct(0.5, 23) == pytest.approx(0.4)
    bent = POLYMERS["PA6"].isotherm
    assert bent.moisture_pct(0.6, 23) == pytest.approx(3.5, rel=0.08)
    assert bent.humidity(bent.moisture_pct(0.37, 60), 60) == pytest.approx(0.37)


def test_a_coil_resists_and_a_bare_strand_does_not() -> None:
    polymer = POLYMERS["PC"]
    oven = Air.of_room(22, 50).heated(110)
    assert math.isinf(stage(polymer, Around(oven, BARE), 1.75, 0.19).biot)
    wound = stage(polymer, Around(oven, WOUND, FAN), 1.75, 0.19)
    doubled = stage(polymer, Around(oven, Coil(factor=2), FAN), 1.75, 0.19)
    assert doubled.biot == pytest.approx(wound.biot / 2)
    still = stage(polymer, Around(oven, WOUND, STILL), 1.75, 0.19)
    assert still.biot < wound.biot


def test_the_coils_conductance_by_hand() -> None:
    # PC at 110 °C: crowding 45e-3*.75*2/.875e-3 = 77.1; D 4.17e-5 m²/s; gaps .045/(3*4.17e-5*.25/1.5)
    # = 2158 s/m; outside .1/(60*4.17e-5) = 40 s/m; vapour over moisture 0.8266 kg/m³ over 1200*.6 % of it.
    polymer = POLYMERS["PC"]
    oven = Air.of_room(22, 50).heated(110)
    held = 1200 * polymer.isotherm.saturated_at_pct(110) / 100
    expected = 0.8113 / held / (77.14 * (2158 + 40))
    assert conductance_m_per_s(polymer, Around(oven, WOUND, FAN), 1.75, 0.19) == pytest.approx(
        expected, rel=0.01
    )


def test_a_vacuum_makes_a_coil_dry_like_a_strand() -> None:
    oven = Air.of_room(22, 50).heated(80)
    polymer = POLYMERS["PA6"]
    assert stage(polymer, Around(oven.evacuated(1000), WOUND), 1.75, 2.0).biot > 50
    assert stage(polymer, Around(oven, WOUND), 1.75, 2.0).biot < 5


def test_every_figure_lies_in_its_range_and_names_its_sources() -> None:
    for polymer in POLYMERS.values():
        for known in (
            polymer.diffusivity,
            polymer.activation,
            polymer.saturated,
            polymer.exponent,
            polymer.limit,
        ):
            assert known.least <= known.value <= known.most
            assert known.sources and set(known.sources) <= set(SOURCES)
        assert polymer.slower().motion.m2_per_s(60) <= polymer.motion.m2_per_s(60)
        assert polymer.faster().motion.m2_per_s(60) >= polymer.motion.m2_per_s(60)


def test_a_filled_polymer_holds_less() -> None:
    bare, fibres = known_polymer("PA6"), known_polymer("pa6-cf")
    assert fibres.saturated.value == pytest.approx(bare.saturated.value * 0.85)
    assert polymer_of(a_material(polymer="PA6", filled="glass")) == known_polymer("PA6-GF")
    assert polymer_of(a_material(polymer="unheard of")) is None


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: Diffusivity(1e-12, -273.15, 30), "0 K"),
        (lambda: Diffusivity(1e-12, 23, 30).m2_per_s(-300), "absolute zero"),
        (lambda: Air.of_room(22, 140), "relative humidity is 140 %"),
        (lambda: Air.of_room(22, -1), "relative humidity is -1 %"),
        (lambda: Air.of_dew_point(20, 30), "dew point is 30 °C"),
        (lambda: Air.of_room(500, 10), "temperature is 500 °C"),
        (lambda: Isotherm(0.0), "saturated moisture content is 0 %"),
        (lambda: Isotherm(1.0).moisture_pct(1.4, 22), "140%"),
        (lambda: Coil(void=0), "share of air"),
        (lambda: known_polymer("cheese"), "known are PLA"),
        (lambda: Air.of_room(22, 50).evacuated(0), "pressure in the vacuum is 0 Pa"),
    ],
)
def test_nonsense_is_refused(make: object, said: str) -> None:
    assert callable(make)
    with pytest.raises(Nonsense, match=said):
        make()
