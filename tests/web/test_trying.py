"""The pages on which things are tried: asked for, worked out, refused."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from scheduler.model import Plan, Scenario
from scheduler.store import Record
from tests.web.fakes import AskingHere

Post = Callable[..., TestResponse]


@pytest.fixture
def free_job(worked_scenario: Scenario, worked_plan: Plan) -> str:
    """A job with a place, not begun and not pinned."""
    placed = {planned.job for planned in worked_plan.jobs}
    return next(
        job.id
        for job in worked_scenario.jobs
        if job.id in placed and job.progress is None and job.pinned is None
    )


def test_a_job_page_leads_to_the_trials(client: FlaskClient, planned_shop: Record, free_job: str) -> None:
    assert f"/jobs/{free_job}/whatif" in client.get(f"/jobs/{free_job}").text
    page = client.get(f"/jobs/{free_job}/whatif").text
    assert "Tried are: this job put first" in page and "Try it" in page


def test_trials_of_a_job_are_shown(
    client: FlaskClient, planned_shop: Record, free_job: str, post: Post
) -> None:
    path = f"/jobs/{free_job}/whatif"
    assert post(path, page=path).status_code == 303
    page = client.get(path).text
    assert "What would save it" in page and "As planned" in page
    assert "Nothing bought: this job put first" in page
    assert "What other machines would cost" in page
    assert 'http-equiv="refresh"' not in page


def test_while_it_is_tried_the_page_looks_again(
    client: FlaskClient, planned_shop: Record, free_job: str, post: Post, asking: AskingHere
) -> None:
    asking.hold = True
    path = f"/jobs/{free_job}/whatif"
    post(path, page=path)
    page = client.get(path).text
    assert 'http-equiv="refresh"' in page and '<button class="main" disabled>Try it' in page


def test_begun_work_says_why_it_is_not_tried(
    client: FlaskClient, planned_shop: Record, worked_scenario: Scenario, post: Post
) -> None:
    begun = next(job.id for job in worked_scenario.jobs if job.progress is not None)
    path = f"/jobs/{begun}/whatif"
    post(path, page=path)
    assert "begun work is never moved" in client.get(path).text


def test_unknown_jobs_and_a_missing_plan(
    client: FlaskClient, worked_shop: Record, free_job: str, post: Post
) -> None:
    assert client.get("/jobs/nobody/whatif").status_code == 404
    assert "No plan is published yet" in client.get(f"/jobs/{free_job}/whatif").text
    assert post(f"/jobs/{free_job}/whatif").status_code == 409
    assert "No plan is published yet" in client.get("/plan/whatif").text


def test_a_machine_that_stops_is_worked_out(
    client: FlaskClient, planned_shop: Record, worked_plan: Plan, post: Post
) -> None:
    printer = worked_plan.jobs[-1].printer
    answer = post("/plan/whatif", page="/plan/whatif", kind="machine", printer=printer, hours="30,5")
    assert answer.status_code == 303
    page = client.get(answer.location).text
    assert f"What if {printer} is down for 30.5 h from now?" in page
    assert "What would move" in page and f"{printer} is down" in page
    assert "Planned again, nothing happens" in page
    assert answer.location in client.get("/plan/whatif").text


def test_a_person_less_and_a_rush_job_are_worked_out(
    client: FlaskClient, planned_shop: Record, free_job: str, post: Post
) -> None:
    shift = client.get("/plan/whatif").text.split('<option value="')[1].split('"')[0]
    answer = post("/plan/whatif", page="/plan/whatif", kind="person", shift=shift)
    assert answer.status_code == 303, answer.text
    assert "one person less" in client.get(answer.location).text
    rush = post("/plan/whatif", page="/plan/whatif", kind="rush", job=free_job, due_h="20", weight="5")
    assert rush.status_code == 303
    page = client.get(rush.location).text
    assert f"{free_job}-rush" in page and "It is new." in page


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"kind": "machine", "printer": "nowhere", "hours": "8"}, "there is no printer nowhere"),
        (
            {"kind": "machine", "printer": "nowhere", "hours": "many"},
            "Out of use for: &#39;many&#39; is not a number",
        ),
        ({"kind": "person", "shift": "-1"}, "there is no shift -1"),
        ({"kind": "rush", "job": "", "due_h": "4", "weight": "1"}, "there is no job"),
        ({"kind": "rush", "job": "x", "due_h": "nan", "weight": "1"}, "no figure to reckon with"),
        ({"kind": "flood"}, "nothing to try"),
    ],
)
def test_what_makes_no_sense_is_told_above_the_forms(
    client: FlaskClient, planned_shop: Record, post: Post, form: dict[str, str], words: str
) -> None:
    answer = post("/plan/whatif", page="/plan/whatif", **form)
    assert answer.status_code == 422
    assert words in answer.text


def test_an_answer_that_is_gone_says_so(client: FlaskClient, planned_shop: Record) -> None:
    assert client.get("/plan/whatif/7").status_code == 404
