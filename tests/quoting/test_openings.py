"""What would give a request a place: each change is really put in, and its date is the plan's own."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from scheduler.checking import check
from scheduler.model import Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.insert import insert
from scheduler.quoting.ask import Ask, AskLine
from scheduler.quoting.openings import Openings, Request, openings
from scheduler.quoting.variation import NONE, Variation
from tests.builders import a_downtime, a_job, a_printer, a_scenario, a_shift, a_spool, at

DAY = 24 * 60


def shop(**changes: object) -> Scenario:
    """One printer and people by day for a week, one job in the plan."""
    return a_scenario(
        **{
            "shifts": tuple(a_shift(n * DAY, n * DAY + 600) for n in range(7)),
            "printers": (a_printer("P1", unattended=True),),
            "spools": tuple(a_spool(f"s{n}", grams=4000.0, dried=True) for n in range(3)),
            "jobs": (a_job("J1", print_min=240),),
        }
        | changes
    )


def a_request(
    scenario: Scenario, quantity: int = 1, print_min: float = 300.0, wanted: datetime | None = None
) -> Request:
    plan = make_plan(
        scenario,
        scenario_hash=scenario_hash(scenario),
        made_at=scenario.site.plan_start,
        timer=lambda: 0.0,
        chains=1,
    )
    line = AskLine("bracket", quantity, "ABS", (40.0, 40.0, 30.0), print_min, 60.0, nozzle_mm=(0.4,))
    return Request(
        scenario, plan, Ask((line,), wanted), {}, "Q-1", scenario.site.instant(60), (), NONE, 0.8, True
    )


def kinds(found: Openings) -> set[str]:
    return {opening.kind for opening in found.helpful}


def test_what_brings_a_date_forward_is_dated_by_the_plan_with_it() -> None:
    request = a_request(shop(), wanted=at(900))
    found = openings(request)
    assert found.today.planned_for is not None and not found.today.in_time
    assert "overtime" in kinds(found) or "machine" in kinds(found)
    for opening in found.helpful:
        assert opening.planned_for is not None and opening.by is not None
        assert opening.planned_for < found.today.planned_for
        # Without chance the promise is the plan's date.
        assert opening.by == opening.planned_for
        assert opening.in_time == (opening.by <= at(900))
    in_time = [opening.in_time for opening in found.helpful]
    assert in_time == sorted(in_time, reverse=True)


def test_a_machine_kept_up_is_told_with_its_reason_and_date() -> None:
    off = a_downtime(0, 4 * DAY, "bearings")
    up = shop(printers=(a_printer("P1", unattended=True, downtime=()),), jobs=())
    down = shop(printers=(a_printer("P1", unattended=True, downtime=(off,)),), jobs=())
    found = openings(a_request(down))
    opening = next(one for one in found.helpful if one.kind == "downtime")
    assert "P1 without its downtime (bearings, " in opening.words
    request = a_request(up)
    assert opening.planned_for == insert(up, request.plan, request.jobs()).date


def test_without_a_place_a_change_that_makes_one_is_found() -> None:
    """Nothing of the material is left, so only buying helps; then the last shift comes too soon."""
    dry = shop(spools=(a_spool("s1", grams=30.0, dried=True),), jobs=())
    found = openings(a_request(dry))
    assert found.today.planned_for is None
    assert kinds(found) == {"spool"}
    assert [one.words for one in found.helpful] == [
        "1000 g of ABS bought and delivered within 1 day",
        "1000 g of ABS bought and delivered within 3 days",
    ]
    first, second = (one.planned_for for one in found.helpful)
    assert first is not None and second is not None and at(DAY) < first < second
    short = shop(shifts=(a_shift(0, 200),), jobs=())
    found = openings(a_request(short))
    assert found.today.planned_for is None and "later" in kinds(found)


def test_smaller_plates_are_put_in_as_jobs_of_their_own() -> None:
    two = shop(printers=(a_printer("P1", unattended=True), a_printer("P2", unattended=True)), jobs=())
    request = a_request(two, quantity=4, print_min=120.0)
    assert [job.quantity for job in request.jobs()] == [4]
    assert [job.quantity for job in request.jobs(2)] == [2, 2]
    opening = next(one for one in openings(request).helpful if one.kind == "plates")
    assert opening.words == "plates of at most 2 parts instead of up to 4, 2 plates"
    made = insert(two, request.plan, request.jobs(2))
    hashed = scenario_hash(made.scenario)
    assert check(made.scenario, made.plan(hashed, two.site.plan_start), hashed) == ()
    assert opening.planned_for == made.date


def test_the_time_for_trials_ends() -> None:
    ticks = iter(range(1000))
    request = a_request(shop(), wanted=at(900))
    whole = openings(request)
    cut = openings(request, limit_s=2.5, timer=lambda: float(next(ticks)))
    assert cut.left > 0
    assert cut.left + len(cut.helpful) + len(cut.idle) == len(whole.helpful) + len(whole.idle)
    assert openings(replace(request, chance=0.95)).today.planned_for == whole.today.planned_for


def test_dates_are_read_where_past_promises_say() -> None:
    request = a_request(shop())

    def by(chance: float, **changes: object) -> datetime | None:
        luck = Variation(**changes)  # type: ignore[arg-type]  # any of its figures
        return openings(replace(request, variation=luck, chance=chance)).today.by

    sure = by(0.95)
    assert by(0.5, levels={0.5: 0.95}) == sure
    assert sure != by(0.5)
