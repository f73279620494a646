"""The planning page: start, watch, compare, publish, discard."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from scheduler.model import Downtime, Plan, PlannedJob, Scenario
from scheduler.office import plans, run_ends
from scheduler.store import Record
from tests.builders import a_plan, a_planned_job, at
from tests.web.fakes import AskingHere, NotingRunner, StandingClock
from web.plan.moved import late_jobs

Post = Callable[..., object]


WAIT = timedelta(hours=3)


def placed(job: str, printer: str = "P1", begin: int = 0, late_min: int = 0) -> PlannedJob:
    edges = tuple(begin + edge for edge in (0, 4, 60, 65, 125, 150, 156))
    return a_planned_job(job, *edges, printer=printer, late_min=late_min)


def test_plan_now_asks_for_a_run_and_starts_it(
    client: FlaskClient, worked_shop: Record, runner: NotingRunner, post: Post
) -> None:
    answer = post("/plan/now")
    assert answer.status_code == 303
    with worked_shop.reading() as unit:
        run = unit.runs.latest()
    assert run is not None and run.state == "waiting"
    assert runner.started == [run.id]
    page = client.get("/plan").text
    assert f'data-run="/plan/runs/{run.id}.json"' in page
    # Without a script the page looks again by itself.
    assert '<noscript><meta http-equiv="refresh"' in page


def test_one_run_at_a_time(
    client: FlaskClient, worked_shop: Record, runner: NotingRunner, post: Post
) -> None:
    post("/plan/now")
    post("/plan/now")
    assert len(runner.started) == 1
    assert "being made already" in client.get("/plan").text


def test_progress_is_told_in_figures_and_words(
    client: FlaskClient, worked_shop: Record, clock: StandingClock
) -> None:
    run_id = plans.request_plan(worked_shop, clock)
    with worked_shop.writing() as unit:
        unit.runs.update(
            run_id, state="working", seconds=1.25, placed=7, jobs=14, late_cost=186.2333, doing="placing jobs"
        )
        unit.runs.note_course(run_id, 100.0, ((0.5, 200.0), (1.0, 186.2333)))
    told = client.get(f"/plan/runs/{run_id}.json").json
    assert told is not None
    assert (told["state"], told["running"], told["placed"], told["jobs"]) == ("working", True, 7, 14)
    assert told["words"] == {
        "seconds": "1.2 of 5 s",
        "placed": "7 of 14",
        "late_cost": "186.2 h",
        "bound": "100 h",
        "doing": "Now: placing jobs.",
        "top": "200 h",
        "end": "5 s",
    }
    assert (told["lower_bound"], told["trail"]) == (100.0, [[0.5, 200.0], [1.0, 186.2333]])
    # Of 600 by 90: 5 s wide, 200 h high less the line's own width; it steps down and ends at 1.25 s.
    assert told["line"] == "60.0,2.0 120.0,2.0 120.0,7.9 150.0,7.9"
    assert told["bound_y"] == 45.0
    page = client.get("/plan").text
    assert told["line"] in page and "1.2 of 5 s" in page and "Now: placing jobs." in page


def kinds(record: Record) -> list[tuple[str, str]]:
    with record.reading() as unit:
        return [(event.kind, event.who) for event in unit.events.list()]


def test_a_run_is_thrown_away_by_its_button(
    client: FlaskClient, worked_shop: Record, runner: NotingRunner, post: Post
) -> None:
    post("/plan/now")
    run_id = runner.started[0]
    assert post(f"/plan/runs/{run_id}/stop", what="throw away").status_code == 303
    assert runner.stopped == [run_id]
    who = kinds(worked_shop)[1][1]
    assert kinds(worked_shop)[:2] == [(run_ends.THROWN_AWAY, who), ("plan asked for", who)]
    page = client.get("/plan").text
    assert f"The last planning run made no plan. {who} threw it away." in page
    # Once more, as somebody does whose page is a moment old.
    post(f"/plan/runs/{run_id}/stop", what="keep")
    assert f"That run was over already. {who} threw it away." in client.get("/plan").text
    assert runner.stopped == [run_id]


def test_a_run_is_ended_with_its_best_plan_by_its_button(
    client: FlaskClient, worked_shop: Record, runner: NotingRunner, post: Post, worked_plan: Plan
) -> None:
    post("/plan/now")
    run_id = runner.started[0]
    assert 'value="keep">' in client.get("/plan").text
    assert post(f"/plan/runs/{run_id}/stop", what="keep").status_code == 303
    # Its worker ends it by itself, where nobody kills it.
    assert runner.stopped == []
    kind, who = kinds(worked_shop)[0]
    assert kind == run_ends.KEPT
    page = client.get("/plan").text
    assert f"{who} has ended it; its first plan is kept as soon as it is there." in page
    assert 'value="keep" disabled' in page
    with worked_shop.writing() as unit:
        number = unit.plans.add(worked_plan)
        unit.runs.update(run_id, state="done", plan_number=number, seconds=3.0, ended_at=at(1))
    assert f"{who} ended the planning after 3 s; proposal 1 is the best plan" in client.get("/plan").text
    post(f"/plan/runs/{run_id}/stop", what="throw away")
    assert "That run had just ended by itself: its plan is number 1." in client.get("/plan").text


def test_ending_a_run_says_how_or_nothing(runner: NotingRunner, worked_shop: Record, post: Post) -> None:
    post("/plan/now")
    assert post(f"/plan/runs/{runner.started[0]}/stop").status_code == 400
    assert post("/plan/runs/99/stop", what="keep").status_code == 404
    assert runner.stopped == []


def test_failed_run_says_why(client: FlaskClient, worked_shop: Record, clock: StandingClock) -> None:
    run_id = plans.request_plan(worked_shop, clock)
    with worked_shop.writing() as unit:
        unit.runs.update(run_id, state="failed", message="The planning process ended early (exit code -9).")
    page = client.get("/plan").text
    assert "The last plan was not made." in page
    assert "exit code -9" in page


def test_proposal_is_published_by_its_button(
    client: FlaskClient, worked_shop: Record, worked_plan: Plan, post: Post
) -> None:
    with worked_shop.writing() as unit:
        number = unit.plans.add(worked_plan)
    assert "Publish plan 1" in client.get("/plan").text
    post(f"/plan/{number}/publish")
    with worked_shop.reading() as unit:
        stored = unit.plans.get(number)
        kinds = [event.kind for event in unit.events.list()]
    assert stored is not None and stored.state == "published"
    assert any("publish" in kind for kind in kinds)
    page = client.get("/plan").text
    assert "Plan 1 is published" in page
    assert "Publish plan" not in page


def test_proposal_is_put_away_by_its_button(
    client: FlaskClient, planned_shop: Record, worked_plan: Plan, post: Post
) -> None:
    with planned_shop.writing() as unit:
        number = unit.plans.add(worked_plan)
    post(f"/plan/{number}/discard")
    with planned_shop.reading() as unit:
        first, second = unit.plans.get(1), unit.plans.get(number)
    assert first is not None and first.state == "published"
    assert second is not None and second.state == "discarded"


def test_what_is_no_proposal_is_not_published_again(
    client: FlaskClient, planned_shop: Record, post: Post
) -> None:
    post("/plan/1/discard")
    page = client.get("/plan").text
    assert 'class="notice error"' in page
    with planned_shop.reading() as unit:
        stored = unit.plans.get(1)
    assert stored is not None and stored.state == "published"
    assert post("/plan/55/publish").status_code == 404


def test_proposal_is_compared_with_the_published_plan(
    client: FlaskClient, planned_shop: Record, worked_plan: Plan
) -> None:
    moved = tuple(replace(job, late_min=0) if job.job == "A" else job for job in worked_plan.jobs)
    better = replace(worked_plan, jobs=moved, late_cost=183.3333)
    with planned_shop.writing() as unit:
        unit.plans.add(better)
    page = client.get("/plan").text
    assert "186.2 h" in page and "183.3 h" in page and "2.9 h less" in page
    assert "<b>1</b> no longer late" in page and "was late" in page
    assert "9 jobs keep their places" in page


def test_changed_shop_makes_a_proposal_stale(
    client: FlaskClient, worked_shop: Record, worked_plan: Plan
) -> None:
    with worked_shop.writing() as unit:
        unit.plans.add(worked_plan)
    assert "have changed since this proposal" not in client.get("/plan").text
    with worked_shop.writing() as unit:
        printer = unit.fleet.load().printers[0]
        unit.fleet.save_printer(replace(printer, unattended=not printer.unattended))
    assert "have changed since this proposal" in client.get("/plan").text


def test_moves_are_told_with_their_cause(
    client: FlaskClient, planned_shop: Record, worked_scenario: Scenario, worked_plan: Plan
) -> None:
    """A machine goes down for a while; its last job waits."""
    last = max(worked_plan.jobs, key=lambda planned: planned.steps[0].start)
    start = last.steps[0].start
    down = Downtime(start, start + timedelta(hours=3), "heater")
    printers = tuple(
        replace(printer, downtime=(*printer.downtime, down)) if printer.id == last.printer else printer
        for printer in worked_scenario.printers
    )
    changed = replace(worked_scenario, printers=printers)
    later = tuple(replace(step, start=step.start + WAIT, end=step.end + WAIT) for step in last.steps)
    waits = replace(last, steps=later, done=last.done + WAIT)
    jobs = tuple(waits if planned is last else planned for planned in worked_plan.jobs)
    with planned_shop.writing() as unit:
        unit.plans.keep_basis(1, worked_scenario, 0)
        unit.plans.keep_basis(unit.plans.add(replace(worked_plan, jobs=jobs)), changed, 0)
    page = client.get("/plan").text
    assert "What would move" in page
    assert "3 h later" in page and "<b>1</b> done later" in page
    assert f"{last.printer} is down" in page and "(heater)" in page
    assert "9 jobs keep their places" in page


def test_nothing_moves_is_said(client: FlaskClient, planned_shop: Record, worked_plan: Plan) -> None:
    with planned_shop.writing() as unit:
        unit.plans.add(worked_plan)
    assert "Nothing moves: every job keeps its machine and its time." in client.get("/plan").text


def test_late_jobs_are_counted() -> None:
    assert late_jobs(a_plan(jobs=(placed("J1"), placed("J2", begin=200, late_min=3)))) == 1


def test_what_moves_in_a_large_shop_is_worked_out_beside_the_page(
    client: FlaskClient,
    planned_shop: Record,
    worked_plan: Plan,
    asking: AskingHere,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    moved = tuple(replace(job, late_min=0) if job.job == "A" else job for job in worked_plan.jobs)
    with planned_shop.writing() as unit:
        number = unit.plans.add(replace(worked_plan, jobs=moved, late_cost=183.3333))
    at_once = client.get("/plan").text
    monkeypatch.setattr("web.plan.moved.AT_ONCE", 5)
    with planned_shop.writing() as unit:
        unit.plans.discard(number)
        number = unit.plans.add(replace(worked_plan, jobs=moved, late_cost=183.3333))
    asking.hold = True
    page = client.get("/plan").text
    assert f'data-moves="/plan/{number}/moves"' in page and "Being worked out" in page
    assert client.get(f"/plan/{number}/moves").status_code == 202
    (key,) = asking.answers
    asking.answers[key] = replace(asking.answers[key], state="failed", message="The process ended early.")
    assert "could not be worked out. The process ended early." in client.get(f"/plan/{number}/moves").text
    with planned_shop.writing() as unit:
        unit.plans.discard(number)
        number = unit.plans.add(replace(worked_plan, jobs=moved, late_cost=183.3333))
    asking.hold = False
    part = client.get(f"/plan/{number}/moves")
    assert part.status_code == 200
    begin = at_once.index('<h3 id="moves-title">')
    assert part.text.strip() == at_once[begin : at_once.index("</table>", begin) + 15].strip()
    assert part.text.strip() in client.get("/plan").text
    assert client.get(f"/plan/{number + 1}/moves").status_code == 404
