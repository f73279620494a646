"""What moved and why: a case by hand for each cause, and random days."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta

import pytest

from scheduler.model import Plan, PlannedJob, Scenario, UnderWay
from scheduler.model.codec import scenario_hash, scenario_offences
from scheduler.planning import make_plan
from scheduler.planning.advance import advance
from scheduler.planning.moves import Move, Moves, moves
from tests.builders import (
    a_downtime,
    a_dryer,
    a_dryer_run,
    a_job,
    a_pin,
    a_plan,
    a_planned_job,
    a_printer,
    a_progress,
    a_scenario,
    a_shift,
    a_site,
    a_spool,
    at,
    steps,
)
from tests.planning.days import disturbed
from tests.planning.random_shops import random_shop


def placed(job: str, begin: int, printer: str = "P1", spool: str = "s1", late_min: int = 0) -> PlannedJob:
    edges = tuple(begin + edge for edge in (0, 4, 60, 65, 125, 150, 156))
    feeds = (replace(a_planned_job().feeds[0], spool=spool),)
    return a_planned_job(job, *edges, printer=printer, late_min=late_min, feeds=feeds)


def shop(*jobs: str, **changes: object) -> Scenario:
    spools = [a_spool("s1"), a_spool("s2"), a_spool("s3")]
    parts: dict[str, object] = {"printers": [a_printer("P1"), a_printer("P2")], "spools": spools}
    return a_scenario(**(parts | {"jobs": [a_job(id) for id in jobs]} | changes))


OLD = shop("A", "B", "C")
#: A and B one after the other on P1, C beside them on P2.
PLAN = a_plan(jobs=(placed("A", 100), placed("B", 300), placed("C", 100, "P2", "s2")))


def later(plan: Plan, job: str, minutes: int, printer: str | None = None) -> Plan:
    """The plan with one job so many minutes later, and perhaps on another printer."""
    changed = []
    for planned in plan.jobs:
        if planned.job == job:
            begin = planned.steps[0].start - at(0)
            begin_min = int(begin.total_seconds() // 60) + minutes
            planned = placed(job, begin_min, printer or planned.printer, planned.feeds[0].spool)
        changed.append(planned)
    return replace(plan, jobs=tuple(changed))


def only(found: Moves) -> Move:
    assert len(found.moves) == 1, found.moves
    return found.moves[0]


def test_nothing_moves_between_equal_plans() -> None:
    found = moves(OLD, PLAN, OLD, PLAN)
    assert (found.moves, found.kept, found.gone) == ((), 3, 0)


def test_half_an_hour_is_no_move_and_a_minute_more_is_one() -> None:
    assert moves(OLD, PLAN, OLD, later(PLAN, "B", 30)).moves == ()
    move = only(moves(OLD, PLAN, OLD, later(PLAN, "B", 31)))
    assert (move.job, move.first_layer_min, move.done_min, move.changes_printer) == ("B", 31, 31, False)
    assert move.cause.kind == "search"


def test_turning_late_is_a_move_however_small() -> None:
    new = replace(PLAN, jobs=(PLAN.jobs[0], replace(placed("B", 301), late_min=1), PLAN.jobs[2]))
    move = only(moves(OLD, PLAN, OLD, new))
    assert move.turns_late and move.late_min == 1


def test_a_machine_that_is_down_hits_the_job_that_stood_there() -> None:
    down = a_printer("P1", downtime=(a_downtime(350, 900, "heater"),))
    new = shop("A", "B", "C", printers=[down, a_printer("P2")])
    move = only(moves(OLD, PLAN, new, later(PLAN, "B", 0, "P2")))
    assert (move.job, move.cause.kind, move.cause.thing, move.pushes) == ("B", "machine", "P1", ())
    assert move.cause.text == "P1 is down Mon 11:50 to Mon 21:00 (heater)"
    assert move.changes_printer


def test_the_one_that_moves_pushes_the_one_that_stood_there() -> None:
    """P1 is down: A goes to P2 and pushes C there, which pushes D behind it."""
    old = shop("A", "C", "D")
    plan = a_plan(jobs=(placed("A", 100), placed("C", 100, "P2", "s2"), placed("D", 300, "P2", "s3")))
    new = replace(old, printers=(a_printer("P1", downtime=(a_downtime(90, 900),)), a_printer("P2")))
    moved = a_plan(jobs=(placed("A", 100, "P2"), placed("C", 300, "P2", "s2"), placed("D", 500, "P2", "s3")))
    found = {move.job: move for move in moves(old, plan, new, moved).moves}
    assert found["A"].pushes == ()
    assert [(push.job, push.by, push.thing) for push in found["C"].pushes] == [("A", "printer", "P2")]
    assert [push.job for push in found["D"].pushes] == ["C", "A"]
    assert {move.cause.thing for move in found.values()} == {"P1"}


def test_a_new_job_is_told_as_new_and_pushes() -> None:
    new = shop("A", "B", "C", "rush")
    plan = later(replace(PLAN, jobs=(*PLAN.jobs, placed("rush", 300, spool="s3"))), "B", 200)
    found = {move.job: move for move in moves(OLD, PLAN, new, plan).moves}
    assert found["rush"].cause.kind == "new" and found["rush"].was is None
    assert [push.job for push in found["B"].pushes] == ["rush"]
    assert found["B"].cause.kind == "new"


def test_a_job_without_a_place_comes_first() -> None:
    plan = later(replace(PLAN, jobs=PLAN.jobs[:2]), "B", 400)
    new = shop("A", "B", "C", spools=[a_spool("s1")])
    found = moves(OLD, PLAN, new, plan)
    assert [move.job for move in found.moves] == ["C", "B"]
    assert found.moves[0].cause.text == "spool s2 is no longer there"
    assert (found.count("lost"), found.count("later"), found.kept) == (1, 1, 1)


def test_a_longer_print_hits_itself_and_pushes_the_next() -> None:
    begun = a_progress(100, 104, 160, 165, 325)
    jobs = [replace(a_job("A"), progress=begun), a_job("B"), a_job("C", progress=_as_planned())]
    new = shop(site=a_site(plan_start=at(200)), jobs=jobs)
    late = replace(placed("A", 100), steps=steps(100, 104, 160, 165, 325, 350, 356), done=at(356))
    found = {
        move.job: move
        for move in moves(OLD, PLAN, new, replace(PLAN, jobs=(late, placed("B", 500), PLAN.jobs[2]))).moves
    }
    assert found.keys() == {"A", "B"}
    assert found["A"].cause.kind == "longer"
    assert found["A"].cause.text == "its print ends 1 h 40 min later than planned"
    assert [(push.job, push.by) for push in found["B"].pushes] == [("A", "printer")]


def _as_planned() -> object:
    return a_progress(100, 104, 160, 165, 225, printer="P2", feeds=PLAN.jobs[2].feeds)


def test_a_failed_print_is_done_again() -> None:
    jobs = [a_job("A"), a_job("B"), a_job("C", progress=_as_planned())]
    old = shop(jobs=[replace(a_job("A"), progress=a_progress(-30, -26, 40)), a_job("B"), a_job("C")])
    plan = replace(PLAN, jobs=(placed("A", -30), *PLAN.jobs[1:]))
    new = shop(site=a_site(plan_start=at(110)), jobs=jobs)
    move = only(moves(old, plan, new, later(plan, "A", 600)))
    assert (move.job, move.cause.kind) == ("A", "again")


def test_a_job_that_prints_a_failed_one_again_says_so() -> None:
    """The floor gives the second try an id of its own."""
    again = replace(a_job("A2"), order="o-A", part="part A")
    new = shop(site=a_site(plan_start=at(200)), jobs=[again, a_job("B"), a_job("C", progress=_as_planned())])
    plan = replace(PLAN, jobs=(placed("A2", 300), placed("B", 500), PLAN.jobs[2]))
    found = {move.job: move for move in moves(OLD, PLAN, new, plan).moves}
    assert found["A2"].cause.text == "A failed, and this job prints it again"
    assert found["A"].cause.kind == "gone"
    assert found["B"].pushes[0].job == "A2"


def test_what_was_to_begin_and_has_not() -> None:
    new = shop(site=a_site(plan_start=at(150)), jobs=[a_job("A"), a_job("B"), a_job("C", progress=_begun())])
    found = {move.job: move for move in moves(OLD, PLAN, new, later(later(PLAN, "A", 200), "B", 200)).moves}
    assert found["A"].cause.text == "it was to begin Mon 07:40 and has not begun"
    assert found["B"].pushes[0].job == "A"


def _begun() -> object:
    return a_progress(100, 104, 160, printer="P2", feeds=PLAN.jobs[2].feeds)


@pytest.mark.parametrize(
    ("change", "kind", "text"),
    [
        ({"due": at(900)}, "asked", "its due date was changed"),
        ({"release": at(500)}, "asked", "its release was changed"),
        ({"print_min": 90}, "longer", "its print takes 30 min more than it did"),
        ({"pinned": a_pin("P1", 700)}, "asked", "it was pinned"),
        ({"needs_qualified": ("medical",)}, "asked", "the qualification that it needs was changed"),
    ],
)
def test_a_changed_job_says_what_changed(change: dict[str, object], kind: str, text: str) -> None:
    new = shop(jobs=[a_job("A"), replace(a_job("B"), **change), a_job("C")])
    move = only(moves(OLD, PLAN, new, later(PLAN, "B", 400)))
    assert (move.cause.kind, move.cause.text) == (kind, text)


def test_a_held_job_leaves_and_makes_room() -> None:
    new = shop("B", "C")
    found = {move.job: move for move in moves(OLD, PLAN, new, later(_without(PLAN, "A"), "B", -200)).moves}
    assert found["A"].cause.kind == "gone" and found["A"].now is None
    assert [(push.job, push.by) for push in found["B"].pushes] == [("A", "room")]


def _without(plan: Plan, job: str) -> Plan:
    return replace(plan, jobs=tuple(planned for planned in plan.jobs if planned.job != job))


@pytest.mark.parametrize(
    ("spool", "text"),
    [
        (a_spool("s1", grams=60.0), "spool s1 holds 60 g, and 100 g were to be drawn by then"),
        (a_spool("s1", available_from=at(390)), "spool s1 comes only Mon 12:30"),
        (a_spool("s1", lot="L2"), "spool s1 was changed"),
        (a_spool("s1", dried=False), "spool s1 is wet"),
        (
            a_spool("s1", dried=True, exposed_min=45),
            "spool s1 has been in room air 45 min longer than planned",
        ),
    ],
)
def test_a_spool_that_serves_no_more(spool: object, text: str) -> None:
    old = replace(OLD, spools=(a_spool("s1", dried=True), a_spool("s2"), a_spool("s3")))
    if "lot" in text or "changed" in text or "holds" in text or "comes" in text:
        spool = replace(spool, dried=True)
    new = replace(old, spools=(spool, a_spool("s2"), a_spool("s3")))
    move = only(moves(old, PLAN, new, later(PLAN, "B", 400)))
    assert (move.cause.kind, move.cause.text) == ("spool", text)


def test_a_dryer_that_is_down_hits_whom_it_dried_for() -> None:
    plan = replace(PLAN, dryer_runs=(a_dryer_run("r1", ("s1",), start=at(10), end=at(90)),))
    new = replace(OLD, dryers=(a_dryer("D1", downtime=(a_downtime(0, 300),)),))
    move = only(moves(OLD, plan, new, later(plan, "A", 400)))
    assert (move.job, move.cause.kind, move.cause.thing) == ("A", "dryer", "D1")


def test_a_drying_that_takes_longer() -> None:
    run = a_dryer_run("r1", ("s1",), start=at(-60), end=at(90))
    old = replace(OLD, under_way=UnderWay((run,), ()))
    new = replace(OLD, under_way=UnderWay((replace(run, end=at(250)),), ()))
    plan = replace(PLAN, dryer_runs=(run,))
    move = only(moves(old, plan, new, later(plan, "A", 400)))
    assert move.cause.text == "spool s1 stays in D1 until Mon 10:10"


def test_fewer_hands_hit_what_no_longer_finds_any() -> None:
    """A and C begin together; with one person only one of them can."""
    new = replace(OLD, shifts=(a_shift(hands=1),))
    move = only(moves(OLD, PLAN, new, later(PLAN, "C", 60)))
    assert (move.job, move.cause.kind) == ("C", "hands")
    assert move.cause.text == "Mon 07:40 there is 1 hand, not 2"


def test_a_spool_taken_by_another_pushes() -> None:
    """A due date moved forward: C takes s1 when A was to have it, on another printer."""
    old, plan = OLD, PLAN
    new = replace(old, jobs=(a_job("A"), a_job("B"), a_job("C", due=at(300))))
    now = replace(plan, jobs=(placed("A", 600), plan.jobs[1], placed("C", 90, "P2", "s1")))
    found = {move.job: move for move in moves(old, plan, new, now).moves}
    assert [(push.job, push.by, push.thing) for push in found["A"].pushes] == [("C", "spool", "s1")]


def test_a_new_machine_lets_a_job_move() -> None:
    new = replace(OLD, printers=(*OLD.printers, a_printer("P3")))
    move = only(moves(OLD, PLAN, new, later(PLAN, "B", -200, "P3")))
    assert (move.cause.kind, move.cause.text) == ("better", "P3 is new in the shop")


def test_a_swap_by_the_search_has_one_beginning() -> None:
    now = replace(PLAN, jobs=(placed("A", 300), placed("B", 100), PLAN.jobs[2]))
    found = {move.job: move for move in moves(OLD, PLAN, OLD, now).moves}
    assert found["B"].cause.kind == "search" and found["B"].pushes == ()
    assert [push.job for push in found["A"].pushes] == ["B"] and found["A"].cause.kind == "search"


def test_what_is_done_has_left_and_is_no_move() -> None:
    new = shop("B", site=a_site(plan_start=at(260)))
    found = moves(OLD, PLAN, new, a_plan(jobs=(PLAN.jobs[1],)))
    assert (found.moves, found.gone, found.kept) == ((), 2, 1)


@pytest.mark.parametrize("seed", range(40))
def test_random_days_every_change_has_one_entry_with_a_cause(seed: int) -> None:
    scenario, rng = random_shop(seed), random.Random(seed)
    plan = make_plan(scenario, scenario_hash="", made_at=scenario.site.plan_start)
    now = scenario.site.plan_start + timedelta(minutes=rng.randrange(30, 900))
    new = disturbed(advance(scenario, plan, now), rng)
    if not new.jobs or scenario_offences(new):
        return
    after = make_plan(new, scenario_hash=scenario_hash(new), made_at=now, previous=plan)
    found = moves(scenario, plan, new, after)
    told = [move.job for move in found.moves]
    assert len(told) == len(set(told))
    assert set(told) == _changed(scenario, plan, new, after)
    jobs = {job.id for job in (*scenario.jobs, *new.jobs)}
    for move in found.moves:
        assert move.cause.text
        assert {push.job for push in move.pushes} <= jobs
        # A chain never comes back to where it was.
        chain = [move.job, *(push.job for push in move.pushes)]
        assert len(chain) == len(set(chain))
    standing = {planned.job for planned in after.jobs} & {planned.job for planned in plan.jobs}
    assert found.kept == len(standing - set(told))


def _changed(old: Scenario, plan: Plan, new: Scenario, after: Plan) -> set[str]:
    """Which jobs count as moved, written plainly from the rule."""
    still = {job.id for job in advance(old, plan, new.site.plan_start).jobs} | {job.id for job in new.jobs}
    before, now = {p.job: p for p in plan.jobs}, {p.job: p for p in after.jobs}
    half_hour = timedelta(minutes=30)
    changed = set()
    for id in (before.keys() & still) | now.keys():
        if id not in before or id not in now:
            changed.add(id)
            continue
        a, b = before[id], now[id]
        if a.printer != b.printer or abs(a.steps[2].start - b.steps[2].start) > half_hour:
            changed.add(id)
        if abs(a.done - b.done) > half_hour or abs(a.late_min - b.late_min) > 30:
            changed.add(id)
        if bool(a.late_min) != bool(b.late_min):
            changed.add(id)
    return changed
