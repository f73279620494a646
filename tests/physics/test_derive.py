"""Derived rows, first runs and open times: only added, never hotter, never against a shop's own."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from demo_fleet import demo_shop
from scheduler.model import DryingRow, Scenario, Span
from scheduler.model.codec import scenario_offences
from scheduler.physics.conduction import soak, substance
from scheduler.physics.derive import DELAY_MIN, MaterialLimits, Surroundings, derive
from scheduler.physics.moisture.drying import LONGEST_H, DryerAir
from scheduler.physics.nonsense import Nonsense
from tests.builders import a_dryer, a_material, a_scenario, a_site, a_spool

DEMO = demo_shop(date(2031, 3, 3))
PC = a_material(polymer="PC", drying=(DryingRow(110, 6, False),), open_time_min=480)


def a_shop(**changes: object) -> Scenario:
    given: dict[str, object] = {
        "materials": (PC,),
        "dryers": (a_dryer(max_c=120.0),),
        "spools": (a_spool(body_max_c=80.0, dried=False),),
    }
    return a_scenario(**{**given, **changes})


def rows_of(scenario: Scenario) -> list[tuple[float, float, bool]]:
    return [(row.temp_c, row.hours, row.vacuum) for row in scenario.materials[0].drying]


@pytest.mark.parametrize("humidity", [0, 20, 50, 70, 100])
def test_the_demo_keeps_its_own_figures_and_stays_a_good_scenario(humidity: float) -> None:
    found = derive(DEMO, Surroundings(humidity)).scenario
    assert scenario_offences(found) == ()
    for before, after in zip(DEMO.materials, found.materials, strict=True):
        assert after.drying[: len(before.drying)] == before.drying
        hottest = max((row.temp_c for row in before.drying), default=0)
        assert all(row.temp_c <= hottest and row.hours <= LONGEST_H for row in after.drying)
        if before.open_time_min is not None:
            assert after.open_time_min is not None and after.open_time_min <= before.open_time_min
        assert replace(after, drying=before.drying, open_time_min=before.open_time_min) == before
    for old, new in zip(DEMO.spools, found.spools, strict=True):
        assert old.drying is None or new == old
        if new.drying is not None and old.drying is None:
            assert old.dried
            usual = next(material for material in DEMO.materials if material.id == old.material).drying
            assert all(own.hours <= row.hours for own, row in zip(new.drying, usual, strict=True))


def test_a_soft_body_gets_a_longer_cooler_run() -> None:
    found = derive(a_shop(), Surroundings(50))
    assert rows_of(found.scenario)[0] == (110, 6, False)
    temp_c, hours, vacuum = rows_of(found.scenario)[1]
    assert (temp_c, vacuum) == (80, False) and 6 < hours < 30
    assert found.notes[0].kind == "row"
    assert "instead of 6 h at 110 °C: a spool's body stands only 80 °C" in found.notes[0].text


def test_a_usable_row_of_the_shops_own_is_left_alone() -> None:
    own = replace(PC, drying=(DryingRow(110, 6, False), DryingRow(75, 40, False)))
    assert rows_of(derive(a_shop(materials=(own,)), Surroundings(50)).scenario) == [
        (110, 6, False),
        (75, 40, False),
    ]


def test_a_spools_own_rows_beat_the_model() -> None:
    spool = a_spool(body_max_c=80.0, dried=False, drying=(DryingRow(75, 18, False),))
    found = derive(a_shop(spools=(spool,)), Surroundings(50)).scenario
    assert found.spools == (spool,)
    assert rows_of(found) == [(110, 6, False)]


def test_air_that_is_too_humid_gives_no_row_but_a_reason() -> None:
    found = derive(a_shop(), Surroundings(95))
    assert rows_of(found.scenario) == [(110, 6, False)]
    assert any(note.kind == "no row" and "the dryer's air keeps" in note.text for note in found.notes)
    dried = Surroundings(95, dryers={"D1": DryerAir(dew_point_c=-30)})
    assert len(rows_of(derive(a_shop(), dried).scenario)) == 2


def test_the_slowest_of_the_dryers_that_can_counts() -> None:
    dryers = (a_dryer("D1", max_c=120.0), a_dryer("D2", max_c=120.0))
    one = rows_of(derive(a_shop(), Surroundings(50)).scenario)[1][1]
    slow = Surroundings(50, dryers={"D2": DryerAir(coil_factor=6)})
    both = rows_of(derive(a_shop(dryers=dryers), slow).scenario)[1][1]
    assert both > one


def test_a_vacuum_dryer_gets_a_row_of_its_own() -> None:
    dryers = (a_dryer("bell", max_c=120.0, vacuum=True),)
    temp_c, hours, vacuum = rows_of(derive(a_shop(dryers=dryers), Surroundings(50)).scenario)[1]
    assert (temp_c, vacuum) == (80, True)
    assert hours < rows_of(derive(a_shop(), Surroundings(50)).scenario)[1][1]


def test_no_run_is_shorter_than_the_floor() -> None:
    floors = Surroundings(50, limits={PC.id: MaterialLimits(floor_h=40)})
    assert rows_of(derive(a_shop(), floors).scenario)[1][1] == 40
    stricter = Surroundings(50, limits={PC.id: MaterialLimits(limit_pct=0.019)})
    assert (
        rows_of(derive(a_shop(), stricter).scenario)[1][1]
        > rows_of(derive(a_shop(), Surroundings(50)).scenario)[1][1]
    )


def test_a_humid_day_shortens_the_open_time_and_a_dry_one_only_if_asked() -> None:
    def open_min(around: Surroundings) -> int | None:
        return derive(a_shop(), around).scenario.materials[0].open_time_min

    humid = open_min(Surroundings(70))
    assert humid is not None and humid < 480
    assert open_min(Surroundings(30)) == 480
    longer = open_min(Surroundings(30, longer_open=True))
    assert longer is not None and longer > 480


def test_a_damp_spool_gets_a_shorter_first_run_only_in_dry_storage() -> None:
    nylon = a_material(polymer="PA12", drying=(DryingRow(90, 6, False),), open_time_min=600)
    spool = a_spool(dried=True, exposed_min=90, body_max_c=130.0)
    for dry_storage, shorter in ((True, True), (False, False)):
        shop = a_shop(materials=(nylon,), spools=(spool,), site=a_site(dry_storage=dry_storage))
        own = derive(shop, Surroundings(50)).scenario.spools[0].drying
        assert (own is not None) == shorter
        if own is not None:
            assert 2.0 <= own[0].hours < 6
    assert DELAY_MIN >= 1440


def test_a_thick_part_cools_slower_and_a_plate_is_soaked_only_where_nothing_is_stated() -> None:
    peek = a_material(
        polymer="PEEK", chamber_set_c=160.0, chamber_c=Span(90, 200), soak_min=0, max_cool_c_per_min=0.9
    )
    own = Surroundings(50, limits={peek.id: MaterialLimits(thickest_mm=60, apart_k=15, plate_mm=6)})
    shop = a_shop(materials=(peek,))
    found = derive(shop, own)
    derived = found.scenario.materials[0]
    # 15 K * 1.38e-7 m²/s / (0.03 m)² * 2 * 60 s = 0.276 °C/min
    assert derived.max_cool_c_per_min == pytest.approx(0.27)
    assert (
        derived.soak_min
        == soak(substance("glass"), 6, shop.site.ambient_c, 160, both_faces=False).minutes
        > 0
    )
    assert {note.kind for note in found.notes} >= {"cooling", "soak"}
    stated = replace(peek, soak_min=5, max_cool_c_per_min=0.1)
    kept = derive(a_shop(materials=(stated,)), own).scenario.materials[0]
    assert (kept.soak_min, kept.max_cool_c_per_min) == (5, 0.1)


def test_what_nothing_is_known_of_stays_as_it_is() -> None:
    unknown = replace(PC, polymer="something else")
    assert derive(a_shop(materials=(unknown,)), Surroundings(70)).scenario.materials == (unknown,)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: Surroundings(140), "relative humidity is 140 %"),
        (lambda: MaterialLimits(limit_pct=0), "moisture to print at is 0 %"),
        (lambda: MaterialLimits(floor_h=-1), "shortest run is -1 h"),
        (lambda: DryerAir(pressure_pa=-1), "pressure is -1 Pa"),
        (lambda: DryerAir(coil_factor=-1), "coil factor is -1"),
        (lambda: DryerAir(dew_point_c=90), "dew point is 90 °C"),
    ],
)
def test_nonsense_is_refused(make: object, said: str) -> None:
    assert callable(make)
    with pytest.raises(Nonsense, match=said):
        make()
