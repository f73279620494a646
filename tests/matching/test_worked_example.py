"""The worked example: what fits what, and the reasons of the job that nothing fits."""

from __future__ import annotations

from scheduler.matching import Matcher
from scheduler.model.codec import read_plan_file, read_scenario_file
from tests.builders import WORKED_EXAMPLE


def worked_example() -> Matcher:
    return Matcher(read_scenario_file(WORKED_EXAMPLE / "scenario.json")[0])


def test_reasons_of_the_job_that_nothing_fits_are_those_of_the_plan() -> None:
    plan = read_plan_file(WORKED_EXAMPLE / "plan.json")
    asked = next(u.reasons for u in plan.unplaced if u.job == "X")
    verdict = worked_example().verdict("X")
    assert not verdict.fits
    assert [(r.check, r.printer) for r in verdict.reasons] == [(r.check, r.printer) for r in asked]
    assert verdict.nearest == "P1"


def test_planned_jobs_fit_where_the_plan_puts_them() -> None:
    matcher = worked_example()
    plan = read_plan_file(WORKED_EXAMPLE / "plan.json")
    assert len(plan.jobs) == 10
    for planned in plan.jobs:
        assert planned.printer in matcher.fitting_printers(planned.job), planned.job
        seats = [
            tuple((f.head, f.nozzle) for f in a.feeds)
            for a in matcher.assignments(planned.job, planned.printer)
        ]
        assert tuple((f.head, f.nozzle) for f in planned.feeds) in seats
        assert matcher.setpoint_c(planned.job, planned.printer) == planned.chamber_c
        for number, feed in enumerate(planned.feeds):
            assert feed.spool in matcher.spools(planned.job, number)


def test_every_other_unplaced_job_fits_something() -> None:
    matcher = worked_example()
    for job in ("Y", "Z", "Q"):
        assert matcher.fits_something(job)


def test_each_reason_carries_its_figures() -> None:
    texts = {(r.check, r.printer): r.text for r in worked_example().verdict("X").reasons}
    assert texts["hot_end", "P2"] == "head H1 reaches 300 °C, HOT asks for at least 350 °C"
    assert texts["chamber", "P2"] == "chamber reaches 80 °C, HOT asks for at least 90 °C"
    assert texts["chamber", "P3"] == (
        "chamber is not heated and stands at the room's 20 °C, HOT asks for at least 90 °C"
    )
    assert texts["bed", "P3"] == "bed reaches 100 °C, HOT asks for at least 120 °C"
    assert texts["nozzle", "P3"] == "nozzle n04 on head H1 is 0.4 mm, the job allows 0.6 mm"
    assert texts["surface", "P2"] == "build surfaces here: glass; HOT asks for pei"
    assert texts["qualification", "P1"] == "job needs a printer qualified for space; qualified here: aero"
