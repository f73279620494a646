"""The bench's pages: answers, what is measured, and what is refused."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from scheduler.model import Scenario
from scheduler.store import HumidCheck, Record
from tests.builders import at

Post = Callable[..., TestResponse]


def test_anyone_can_ask_without_a_shop(client: FlaskClient) -> None:
    page = client.get("/bench").text
    assert "PA6-CF" in page and "Work it out" in page and "<svg" not in page.split("<main")[1]
    page = client.get("/bench?polymer=PC&body=80&recipe_c=110&recipe_h=6").text
    assert "16 h at 80 °C instead of 6 h at 110 °C: the spool&#39;s body stands only 80 °C." in page
    assert page.count('class="curve wide"') == 2 and page.count('class="curve narrow"') == 2
    assert "data sheet and the oven's manual decide" in page
    assert "measured or stated [2]" in page


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("polymer=PC&humidity=140", "relative humidity is 140 %"),
        ("polymer=PC&room=-273.15", "0 K"),
        ("polymer=PC&filament=-1", "diameter is -1 mm"),
        ("polymer=PC&temp=120&body=80", "hotter than the spool&#39;s body stands"),
        ("polymer=cheese", "no figures of water are known"),
        ("polymer=PC&body=hot", "is no number of °C"),
        ("polymer=PC&shelf=nan", "is no number of h"),
        ("polymer=<script>", "&lt;script&gt;"),
    ],
)
def test_nonsense_gets_a_clear_message(client: FlaskClient, query: str, said: str) -> None:
    answer = client.get(f"/bench?{query}")
    assert answer.status_code == 422
    assert said in answer.text and "<script>" not in answer.text.split("<main")[1]


def test_every_page_of_the_bench_is_there(
    client: FlaskClient, planned_shop: Record, worked_scenario: Scenario
) -> None:
    for path in (
        "/bench/air",
        "/bench/spools",
        f"/bench/dryers/{worked_scenario.dryers[0].id}",
        f"/bench/printers/{worked_scenario.printers[0].id}",
        f"/bench/materials/{worked_scenario.materials[0].id}",
    ):
        assert client.get(path).status_code == 200, path
    for path in ("/bench/dryers/none", "/bench/printers/none", "/bench/materials/none"):
        assert client.get(path).status_code == 404, path


def test_the_rooms_air_is_stored_and_a_wrong_hour_is_told(
    client: FlaskClient, planned_shop: Record, post: Post
) -> None:
    hours = {f"hour-{hour}": "55" for hour in range(24)}
    assert post("/bench/air", "/bench/air", **hours, model="yes").status_code == 303
    with planned_shop.reading() as unit:
        air = unit.water.room_air()
    assert air.by_hour_pct == (55.0,) * 24 and air.plan_with_model and not air.longer_open
    for bad, said in (("damp", "is no number of %"), ("140", "at 7 h is 140 %")):
        answer = post("/bench/air", "/bench/air", **{**hours, "hour-7": bad})
        assert answer.status_code == 422 and said in answer.text
    with planned_shop.reading() as unit:
        assert unit.water.room_air() == air


def test_a_weighing_is_stored_and_a_swapped_one_is_not(
    client: FlaskClient, planned_shop: Record, worked_scenario: Scenario, post: Post
) -> None:
    dryer = worked_scenario.dryers[0].id
    page = f"/bench/dryers/{dryer}"
    form = {
        "spool": worked_scenario.spools[0].id,
        "before": "1240",
        "after": "1300",
        "body": "240",
        "temp": "80",
    }
    answer = post(f"{page}/weighings", page, **form, hours="4", stored="50")
    assert answer.status_code == 422
    assert "nothing is known of water" in answer.text or "swapped" in answer.text
    answer = post(f"{page}/weighings", page, **{**form, "before": "heavy"}, hours="4", stored="50")
    assert answer.status_code == 422 and "Before: &#39;heavy&#39; is no number" in answer.text
    assert post(f"{page}/air", page, dew="-30").status_code == 303
    assert post(f"{page}/air", page, dew="300").status_code == 422


def test_a_log_is_fitted_and_shown(
    client: FlaskClient, planned_shop: Record, worked_scenario: Scenario, post: Post
) -> None:
    printer = next(each for each in worked_scenario.printers if each.chamber_reach_c is not None)
    page = f"/bench/printers/{printer.id}"
    reach = printer.chamber_reach_c
    assert reach is not None
    rows = "\n".join(f"{minute},{reach - (reach - 20) * math.exp(-minute / 30):.2f}" for minute in range(60))
    log = (io.BytesIO(f"minutes,temp_c\n{rows}".encode()), "log.csv")
    assert post(page, page, log=log, kind="heating").status_code == 303
    shown = client.get(page).text
    assert re.search(r"30 min \(\d", shown) and "newest fit" in shown
    assert "How its chamber heats" in client.get(f"/fleet/printers/{printer.id}").text
    bad = (io.BytesIO(b"minutes,temp_c\n0,hot\n"), "log.csv")
    answer = post(page, page, log=bad, kind="heating")
    assert answer.status_code == 422 and "line 2" in answer.text
    assert post(page, page, kind="heating").status_code == 422


def test_a_sensor_is_read(client: FlaskClient, planned_shop: Record, post: Post) -> None:
    good = (io.BytesIO(b"time,humidity_pct\n2031-03-03T06:00,61\n"), "sensor.csv")
    assert post("/bench/air/readings", "/bench/air", log=good).status_code == 303
    bad = (io.BytesIO(b"time,humidity_pct\n2031-03-03T06:00,161\n"), "sensor.csv")
    answer = post("/bench/air/readings", "/bench/air", log=bad)
    assert answer.status_code == 422 and "line 2" in answer.text


def test_limits_are_stored(
    client: FlaskClient, planned_shop: Record, worked_scenario: Scenario, post: Post
) -> None:
    page = f"/bench/materials/{worked_scenario.materials[0].id}"
    assert post(page, page, limit="0.03", floor="3", apart="20", thickest="40").status_code == 303
    with planned_shop.reading() as unit:
        assert unit.water.limits()[worked_scenario.materials[0].id].floor_h == 3
    assert post(page, page, limit="-1", floor="3", apart="20").status_code == 422


def test_a_spools_page_has_its_curve_where_its_polymer_is_known(
    client: FlaskClient, planned_shop: Record, worked_scenario: Scenario
) -> None:
    from scheduler.physics.moisture.polymers import POLYMERS

    polymers = {material.id: material.polymer for material in worked_scenario.materials}
    for spool in worked_scenario.spools:
        page = client.get(f"/fleet/spools/{spool.id}").text
        assert ("Water in it" in page) == (polymers[spool.material] in POLYMERS)


def test_the_weekly_look_is_told_on_the_bench_and_to_who_plans(
    client: FlaskClient, planned_shop: Record, worked_scenario: Scenario
) -> None:
    job = worked_scenario.jobs[0].id
    assert "looked at by itself each Monday at 06:00" in client.get("/bench/air").text
    with planned_shop.writing() as unit:
        assert unit.timers.claim("humid week", at(0), at(0), at(30), "one")
        unit.timers.finish("humid week", at(0), at(4), "one", "the planner slept")
    assert "came to nothing: the planner slept" in client.get("/bench/air").text
    assert "humidity" not in client.get("/plan").text.split("<main")[1]
    quiet = HumidCheck(at(5), 1, 50.0, 70.0, (), (), "timer")
    with planned_shop.writing() as unit:
        unit.water.add_humid_check(quiet)
    assert "no job turns late" in client.get("/bench/air").text
    assert "turns late" not in client.get("/plan").text
    with planned_shop.writing() as unit:
        unit.water.add_humid_check(replace(quiet, late_humid=(job,)))
    for path in ("/bench/air", "/plan"):
        page = " ".join(client.get(path).text.split())
        assert "was checked by itself on" in page and "1 job turns late at 70 % humidity" in page
        assert f'href="/jobs/{job}"' in page
    with planned_shop.writing() as unit:
        unit.water.add_humid_check(replace(quiet, plan_number=7, late_humid=(job,)))
    assert "turns late" not in client.get("/plan").text
    assert "Plan 1 has been published since" in " ".join(client.get("/bench/air").text.split())
