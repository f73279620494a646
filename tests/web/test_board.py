"""The board's page over the worked example."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime

import pytest
from flask import Flask
from flask.testing import FlaskClient

from scheduler.model import Plan, Scenario
from scheduler.store import Record
from tests.builders import a_printer, a_scenario, at
from tests.web.fakes import StandingClock
from web.board.hands import coming
from web.board.late import late_jobs, placeless_jobs
from web.board.rows import machine_groups
from web.board.views import ROWS_A_PAGE
from web.board.wall import tiles
from web.services import services
from web.shop import Shop


@pytest.fixture
def shop(app: Flask, planned_shop: Record) -> Shop:
    with app.app_context():
        shop = services().shop()
    assert shop is not None
    return shop


def test_every_machine_has_its_row(client: FlaskClient, planned_shop: Record) -> None:
    page = client.get("/").text
    for kind, id in [("printers", "P1"), ("printers", "P2"), ("printers", "P3"), ("ovens", "O2")]:
        assert f'<a href="/fleet/{kind}/{id}">{id}</a>' in page
    for id in ("D1", "DO", "R1"):
        assert f'<a href="/fleet/dryers/{id}">{id}</a>' in page
    # A dryer that is an oven too is one machine: one row, with its anneal in it.
    assert '<a href="/fleet/ovens/DO">DO</a>' not in page.split("<aside")[0].split("board-hands")[0]
    assert "Anneal at 150 °C, Mon 15:12 to 17:12, 2 h: A" in page


def test_printers_are_grouped_by_how_hot_they_get(client: FlaskClient, planned_shop: Record) -> None:
    page = client.get("/").text
    headings = re.findall(r'class="strip-title" id="group-([\w-]+)"><span>([^<]+) <small>([^<]+)<', page)
    assert headings == [
        ("open", "Open printers", "no heated chamber"),
        ("warm", "Warm chambers", "up to 80 °C"),
        ("hot", "Hot chambers", "up to 120 °C"),
        ("dryers", "Dryers", headings[3][2]),
        ("ovens", "Annealing ovens", headings[4][2]),
    ]


def test_bars_have_titles_and_lead_to_their_job(client: FlaskClient, planned_shop: Record) -> None:
    page = client.get("/?range=day").text
    link = re.search(r'<a href="/jobs/A" aria-label="([^"]+)">(.*?)</a>', page)
    assert link
    assert "done Mon 17:27, 1 h 27 min late" in link[1]
    titles = re.findall(r"<title>([^<]+)</title>", link[2])
    assert "Preheat Mon 10:35 to 12:01, 1 h 26 min, chamber at 110 °C" in titles
    assert "Changeover Mon 10:10 to 10:35, 25 min" in titles
    assert "Cool-down Mon 13:07 to 14:47, 1 h 40 min" in titles
    # Told by a mark as well as by a colour.
    assert 'class="s-late"' in link[2] and "▲" in link[2]
    # And the long cool-down carries its letter, whatever its hue.
    assert re.search(r'<text class="letter over"[^>]*>D</text>', link[2])


def test_steps_of_different_kinds_never_share_a_texture(client: FlaskClient, planned_shop: Record) -> None:
    page = client.get("/?range=day").text
    drawn = dict(re.findall(r'<rect class="s-(\w+)" fill="url\(#([\w-]+)\)"', page))
    assert drawn["preheat"] != drawn["cooldown"] != drawn["dry"]
    for texture in drawn.values():
        assert f'<pattern id="{texture}"' in page


def test_now_line_stands_where_the_clock_is(client: FlaskClient, planned_shop: Record) -> None:
    # 06:10 of the first day of seven: 370 of 10 080 minutes.
    page = client.get("/").text
    found = re.search(r'class="now-line" x1="([\d.]+)%"', page)
    assert found and float(found[1]) == pytest.approx(100 * 370 / 10080)


def test_days_elsewhere_have_no_now_line(client: FlaskClient, planned_shop: Record) -> None:
    page = client.get("/?range=day&from=2031-03-04").text
    assert "Tue 4 Mar" in page
    assert "now-line" not in page


@pytest.mark.parametrize("query", ["range=year", "from=yesterday", "page=-3", "page=zwei", "machines=none"])
def test_strange_wishes_get_the_usual_board(client: FlaskClient, planned_shop: Record, query: str) -> None:
    answer = client.get(f"/?{query}")
    assert answer.status_code == 200
    assert 'href="/jobs/A"' in answer.text


def test_what_waits_for_hands_is_told_in_the_order_of_the_clock(shop: Shop) -> None:
    tasks = coming(shop, at(10), True)
    told = [(task.start, task.doing, task.machine, task.job) for task in tasks[:6]]
    assert told == [
        (at(10), "Load the dryer", "DO", None),
        (at(30), "Change over", "P2", "D"),
        (at(54), "Watch the start on", "P2", "D"),
        (at(125), "Unload", "P3", "U"),
        (at(140), "Change over", "P3", "G"),
        (at(153), "Watch the start on", "P3", "G"),
    ]
    assert "s_pla2 at 45 °C" in tasks[0].detail
    # A task under way is still somebody's; one that is over is not.
    assert coming(shop, at(14), True)[0].machine == "DO"
    assert coming(shop, at(15), True)[0].machine == "P2"


def test_tasks_far_off_are_told_when_nothing_is_near(shop: Shop) -> None:
    # Monday 22:00: the next hands are wanted on Tuesday at 07:00.
    tasks = coming(shop, at(16 * 60), True)
    assert [(task.start, task.machine) for task in tasks[:3]] == [(at(1500), id) for id in ("P1", "P2", "P3")]
    assert coming(shop, at(3 * 24 * 60), True) == ()


def test_late_jobs_come_with_figures_and_a_reason(app: Flask, client: FlaskClient, shop: Shop) -> None:
    with app.test_request_context("/"):
        (late,) = late_jobs(shop, True)
    assert (late.job, late.late_min) == ("A", 87)
    assert late.reason
    assert late.reason in client.get("/").text.replace("&#39;", "'")


def test_worst_late_job_comes_first(shop: Shop, app: Flask) -> None:
    assert shop.stored is not None
    jobs = tuple(
        replace(job, late_min={"A": 87, "B": 300, "D": 12}.get(job.job, 0)) for job in shop.stored.plan.jobs
    )
    later = replace(shop, published=replace(shop.stored, plan=replace(shop.stored.plan, jobs=jobs)), memo={})
    with app.test_request_context("/"):
        assert [late.job for late in late_jobs(later, True)] == ["B", "A", "D"]


def test_jobs_without_a_place_say_whether_anything_suits_them(shop: Shop) -> None:
    found = {job.job: job.never for job in placeless_jobs(shop, True)}
    assert found == {"X": True, "Q": False, "Y": False, "Z": False}
    assert placeless_jobs(shop, True)[0].job == "X"


def test_unpublished_plan_is_shown_as_a_proposal(
    client: FlaskClient, worked_shop: Record, worked_plan: Plan
) -> None:
    assert "Nothing is planned yet" in client.get("/").text
    with worked_shop.writing() as unit:
        unit.plans.add(worked_plan)
    page = client.get("/").text
    assert "proposal, not published" in page
    assert 'href="/jobs/A"' in page


def test_published_plan_stays_on_the_board_while_a_proposal_waits(
    client: FlaskClient, planned_shop: Record, worked_plan: Plan
) -> None:
    with planned_shop.writing() as unit:
        unit.plans.add(replace(worked_plan, jobs=()))
    page = client.get("/").text
    assert "Proposal 2 waits" in page
    assert "<b>Plan 1</b>, published" in page
    assert 'href="/jobs/A"' in page


def test_names_are_shown_as_they_are_never_run(
    client: FlaskClient, record: Record, worked_scenario: Scenario
) -> None:
    site = replace(worked_scenario.site, name="<script>alert(1)</script>")
    with record.writing() as unit:
        unit.fleet.replace(replace(worked_scenario, site=site))
    page = client.get("/").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_each_of_many_printers_is_on_one_page(client: FlaskClient, record: Record) -> None:
    count = 2 * ROWS_A_PAGE + 5
    printers = [a_printer(f"P{n:03d}", chamber_max_c=None if n % 2 else 90.0) for n in range(count)]
    printers = [replace(p, chamber_reach_c=None) if p.chamber_max_c is None else p for p in printers]
    with record.writing() as unit:
        unit.fleet.replace(a_scenario(printers=printers, dryers=[], ovens=[]))
    seen: list[str] = []
    for page in (1, 2, 3):
        seen += re.findall(
            r'<li class="lanes-1"><a href="/fleet/printers/(P\d+)">', client.get(f"/?page={page}").text
        )
    assert sorted(seen) == [printer.id for printer in printers]
    assert "Page 3 of 3" in client.get("/?page=9").text


def test_board_can_show_one_kind_of_machine(client: FlaskClient, planned_shop: Record) -> None:
    page = client.get("/?machines=dryers").text
    assert 'id="group-dryers"' in page
    assert 'id="group-open"' not in page


def test_open_board_learns_of_a_new_plan(
    client: FlaskClient, planned_shop: Record, worked_plan: Plan, clock: StandingClock
) -> None:
    before = client.get("/board.json").json
    assert before is not None
    assert before["words"] == "Mon 06:10"
    assert datetime.fromisoformat(before["now"]) == clock.now
    again = client.get("/board.json").json
    assert again == before
    with planned_shop.writing() as unit:
        unit.plans.publish(unit.plans.add(worked_plan))
    after = client.get("/board.json").json
    assert after is not None and after["version"] != before["version"]


def test_shop_is_read_again_only_when_something_changed(
    app: Flask, planned_shop: Record, worked_plan: Plan, worked_scenario: Scenario
) -> None:
    with app.app_context():
        first = services().shop()
        assert services().shop() is first
        with planned_shop.writing() as unit:
            unit.plans.add(worked_plan)
        second = services().shop()
        assert first is not None and second is not None and second is not first
        # A plan more leaves the fleet as it was read.
        assert second.scenario is first.scenario
        with planned_shop.writing() as unit:
            unit.fleet.save_printer(replace(worked_scenario.printers[0], speed_factor=2.0))
        third = services().shop()
        assert third is not None and third.printers["P1"].speed_factor == 2.0


def test_wall_tells_what_each_machine_does_now(app: Flask, shop: Shop) -> None:
    with app.test_request_context("/"):
        groups = machine_groups(shop, True)
    # 07:00: P1 is free until its changeover at 10:10, P2 prints since 06:59, P3 has printed since 05:21.
    found = {tile.machine: tile for tile in tiles(groups, at(60))}
    assert (found["P1"].doing, found["P1"].until) == ("Free", at(250))
    assert (found["P2"].doing, found["P2"].label, found["P2"].until) == ("Print", "D", at(184))
    assert (found["P3"].doing, found["P3"].label) == ("Print", "U")
    assert (found["D1"].doing, found["D1"].until) == ("Drying run", at(250))
    assert not any(tile.wanted for tile in found.values())
    # 06:31: somebody changes P2 over; 12:00: A, which will be late, preheats on P1.
    assert {tile.machine for tile in tiles(groups, at(31)) if tile.wanted} == {"P2"}
    assert {tile.machine for tile in tiles(groups, at(360)) if tile.late} == {"P1"}
    # 14:50 to 15:17: E is printed and cool, and waits for the one free hand.
    (waiting,) = [tile for tile in tiles(groups, at(530)) if tile.machine == "P2"]
    assert (waiting.doing, waiting.until) == ("Waits", at(557))


def test_wall_tells_hands_lateness_and_machines(client: FlaskClient, planned_shop: Record) -> None:
    page = client.get("/wall").text
    assert "Waits for hands, 2 people are here" in page
    assert "Load the dryer DO" in page
    assert "Will be late, 1 of 10" in page
    assert "1 h 27 min late" in page
    assert "without a place" in page


def test_wall_of_an_empty_record_says_how_to_begin(client: FlaskClient) -> None:
    assert "soakline import" in client.get("/wall").text
