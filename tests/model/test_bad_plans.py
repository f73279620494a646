"""Each kind of bad plan, and the whole of what is said about it."""

from __future__ import annotations

from typing import Any

import pytest

from scheduler.model.codec import BadFile, decode_plan, read_plan_file
from tests.builders import WORKED_EXAMPLE
from tests.model.damage import GONE, example, plan_messages

REASON = "unplaced[0].reasons[0]"
SIX = "changeover, preheat, start, print, cooldown, unload"

ONE_OFFENCE: list[tuple[str, Any, str]] = [
    ("schema", "soakline.scenario/1", 'schema: "soakline.scenario/1" is not "soakline.plan/1"'),
    ("scenario_hash", "BC3", 'scenario_hash: "BC3" is not a SHA-256 of 64 lower-case hex digits'),
    ("made_at", "2031-03-03T06:00:00.5Z", 'made_at: "2031-03-03T06:00:00.5Z" is not on a whole minute'),
    ("late_cost", -1, "late_cost: -1 is negative"),
    ("late_cost", None, "late_cost: null is not a number"),
    ("attended_min", 236.5, "attended_min: 236.5 is not a whole number"),
    ("seed", True, "seed: true is not a whole number"),
    ("lower_bound", "low", 'lower_bound: "low" is not a number'),
    ("board", {}, "board: no such key belongs here"),
    ("forced", GONE, "forced: the key is missing"),
    ("jobs[0].late_min", None, "jobs[0].late_min: job A: null is not a whole number"),
    ("jobs[0].job", "N", "jobs[0].job: job N: there is no job N"),
    ("jobs[1].job", "A", "jobs[1].job: job A: job A is given already at jobs[0].job"),
    ("unplaced[0].job", "A", "unplaced[0].job: job A: job A is given already at jobs[0].job"),
    ("jobs[0].printer", "P9", "jobs[0].printer: job A: there is no printer P9"),
    ("jobs[0].feeds[0].spool", "s", "jobs[0].feeds[0].spool: job A: there is no spool s"),
    ("jobs[0].feeds[1].head", "H9", "jobs[0].feeds[1].head: job A: there is no head H9 on printer P1"),
    ("jobs[0].feeds", [], "jobs[0].feeds: job A: at least 1 is needed, there is none"),
    ("jobs[0].steps[5]", GONE, f"jobs[0].steps: job A: the six steps {SIX} are due, listed are {SIX[:-8]}"),
    ("jobs[0].steps", [], f"jobs[0].steps: job A: the six steps {SIX} are due, listed are none"),
    (
        "jobs[0].steps[1].kind",
        "print",
        f"jobs[0].steps: job A: the six steps {SIX} are due, "
        "listed are changeover, print, start, print, cooldown, unload",
    ),
    (
        "jobs[0].steps[0].end",
        "2031-03-03T10:00:00+00:00",
        "jobs[0].steps[0].end: job A: the step ends at 2031-03-03T10:00:00+00:00, "
        "before it starts at 2031-03-03T10:10:00+00:00",
    ),
    ("dryer_runs[0].dryer", "D9", "dryer_runs[0].dryer: dryer run u1: there is no dryer D9"),
    (
        "dryer_runs[1].id",
        "u1",
        "dryer_runs[1].id: dryer run u1: the id u1 is given already at dryer_runs[0].id",
    ),
    ("dryer_runs[0].spools[0]", "s", "dryer_runs[0].spools[0]: dryer run u1: there is no spool s"),
    ("oven_runs[0].oven", "D1", "oven_runs[0].oven: oven run o1: there is no oven D1"),
    (
        "oven_runs[0].jobs[1]",
        "A",
        "oven_runs[0].jobs[1]: oven run o1: the job A is given already at oven_runs[0].jobs[0]",
    ),
    (
        "forced",
        [{"job": "N", "rule": "hands", "text": "nobody there"}],
        "forced[0].job: job N: there is no job N",
    ),
    (f"{REASON}.asked", [1], f"{REASON}.asked: job X: a list of 1 is not a number, text or null"),
    (f"{REASON}.there", True, f"{REASON}.there: job X: true is not a number, text or null"),
    (f"{REASON}.printer", "P9", f"{REASON}.printer: job X: there is no printer P9"),
    (f"{REASON}.head", "H9", f"{REASON}.head: job X: there is no head H9 on this printer"),
    (f"{REASON}.check", "", f'{REASON}.check: job X: "" is empty'),
]


@pytest.mark.parametrize(("path", "value", "message"), ONE_OFFENCE, ids=map(str, range(len(ONE_OFFENCE))))
def test_one_thing_wrong_is_one_message(path: str, value: Any, message: str) -> None:
    assert plan_messages(example("plan", {path: value})) == [message]


def test_everything_wrong_is_said_at_once() -> None:
    changes = {
        "late_cost": "much",
        "jobs[0].printer": "P9",
        "unplaced[0].reasons": 1,
        "dryer_runs[0].slots": 1,
    }
    assert plan_messages(example("plan", changes)) == [
        'late_cost: "much" is not a number',
        "jobs[0].printer: job A: there is no printer P9",
        "dryer_runs[0].slots: dryer run u1: no such key belongs here",
        "unplaced[0].reasons: job X: 1 is not a list of objects",
    ]


def test_without_the_scenario_any_id_is_known() -> None:
    decode_plan(example("plan", {"jobs[0].printer": "P9", "jobs[1].feeds[0].spool": "s"}))


def test_whether_a_plan_is_valid_is_not_the_readers_to_say() -> None:
    early = {
        "jobs[0].done": "2031-03-01T00:00:00+00:00",
        "jobs[0].oven_run": "none such",
        "jobs[0].feeds[1].spool": "s_hot1",
        "jobs[1].feeds": [{"head": "H1", "nozzle": "n04", "spool": "t1"}] * 2,
        "late_cost": 0,
    }
    assert plan_messages(example("plan", early)) == []


def test_figures_of_reasons_keep_their_kind() -> None:
    plan = decode_plan(example("plan", {f"{REASON}.asked": 120, f"{REASON}.there": "aero"}))
    reason = plan.unplaced[0].reasons[0]
    assert (type(reason.asked), reason.asked, reason.there) == (int, 120, "aero")


def test_a_scenario_in_place_of_a_plan_says_so_first() -> None:
    with pytest.raises(BadFile) as caught:
        read_plan_file(WORKED_EXAMPLE / "scenario.json")
    assert str(caught.value.offences[0]) == 'schema: "soakline.scenario/1" is not "soakline.plan/1"'
