"""What now, at this machine: the job, the reason, and why not the others."""

from __future__ import annotations

from dataclasses import replace

from scheduler.floor import Asked, Ground, Things
from scheduler.floor.pull import Advice, what_now
from scheduler.floor.scene import Scene
from scheduler.model import Scenario
from scheduler.planning import make_plan
from tests.builders import (
    PLAN_START,
    a_drying_row,
    a_job,
    a_material,
    a_printer,
    a_scenario,
    a_shift,
    a_spool,
    an_oven,
    at,
)


def advised(scenario: Scenario, minute: int = 0) -> Advice:
    plan = make_plan(scenario, scenario_hash="", made_at=PLAN_START)
    ground = Ground(scenario, plan, 1)
    scene = Scene(ground, Things(lambda kind, id: None, ground.fresh), Asked("", "", at(minute)))
    return what_now(scene, scenario.printers[0])


def test_the_next_of_the_plan_if_all_is_ready() -> None:
    advice = advised(a_scenario(jobs=[a_job("J1", due=at(300)), a_job("J2", due=at(900))]))
    assert advice.proposed is not None and advice.proposed.job.id == "J1"
    assert advice.proposed.note.startswith("next in the plan, and all is ready")
    assert [other.note for other in advice.others]


def test_a_wet_spool_is_why_not() -> None:
    wet = a_material("ABS", drying=(a_drying_row(),))
    advice = advised(a_scenario(materials=[wet], spools=[a_spool("s1")]))
    assert advice.proposed is None
    assert advice.others[0].note == "spool s1 has not been dried"


def test_a_machine_that_must_not_run_alone_is_not_begun_in_the_evening() -> None:
    shop = a_scenario(
        printers=[a_printer(unattended=False)],
        shifts=[a_shift(0, 480), a_shift(1440, 1920)],
        ovens=[an_oven()],
    )
    assert advised(shop).proposed is not None
    late = advised(shop, 400)
    assert late.proposed is None
    assert "must not run alone" in late.others[0].note


def test_what_would_hold_up_the_urgent_job_waits() -> None:
    """J1's spool comes at minute 60; J2 takes ten hours. Pulled now, J2 makes J1 late."""
    shop = a_scenario(
        spools=[a_spool("s1", lot="A", available_from=at(60), certs=("c",)), a_spool("s2", lot="B")],
        jobs=[
            replace(a_job("J1", due=at(320), weight=5.0), feeds=(replace(a_job().feeds[0], certs=("c",)),)),
            a_job("J2", print_min=600),
        ],
    )
    advice = advised(shop)
    assert advice.proposed is None
    notes = {other.job.id: other.note for other in advice.others}
    assert notes["J1"] == "spool s1 comes on Mon 07:00"
    assert "better wait" in notes["J2"]
