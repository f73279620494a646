"""Each kind of bad scenario, and the whole of what is said about it."""

from __future__ import annotations

import math
from typing import Any

import pytest

from scheduler.model.codec import BadFile, decode_scenario
from tests.model.damage import GONE, example, scenario_messages

STEPS = "jobs[4].progress.steps"
FEED = "jobs[4].progress.feeds[0]"
THIRD_HEAD = {
    "id": "H3",
    "max_c": 300,
    "filament_mm": 1.75,
    "dry_feed": False,
    "mounted": {"spool": None, "material": None, "nozzle": None},
    "nozzles": [],
}
FEED_OF_A = {"material": "HOT", "grams": 1, "nozzle_mm": [0.6], "certs": []}

ONE_OFFENCE: list[tuple[str, Any, str | list[str]]] = [
    # keys and types
    ("schema", "soakline.plan/1", 'schema: "soakline.plan/1" is not "soakline.scenario/1"'),
    ("schema", GONE, "schema: the key is missing"),
    ("ovens", GONE, "ovens: the key is missing"),
    ("quotes", [], "quotes: no such key belongs here"),
    ("jobs[0].finish_by", 1, "jobs[0].finish_by: job A: no such key belongs here"),
    ("jobs[0]._schema", 1, "jobs[0]._schema: job A: no such key belongs here"),
    ("jobs[0].\u00e9\u00e9", 1, 'jobs[0]["éé"]: job A: no such key belongs here'),
    ("jobs[2].due", GONE, "jobs[2].due: job D: the key is missing"),
    ("jobs[0]", "A", 'jobs[0]: "A" is not an object'),
    ("jobs[0].feeds[1]", None, "jobs[0].feeds[1]: job A: null is not an object"),
    ("jobs[0].part", 7, "jobs[0].part: job A: 7 is not text"),
    ("jobs[0].part", "\ud800", 'jobs[0].part: job A: "\\ud800" holds half of a surrogate pair'),
    ("jobs[0].anneal", 1, "jobs[0].anneal: job A: 1 is not true or false"),
    ("under_way", None, "under_way: null is not an object"),
    ("ovens", {}, "ovens: an object is not a list of objects"),
    ("jobs[0].size_mm", [1, 2], "jobs[0].size_mm: job A: 3 entries are needed, 2 are given"),
    ("jobs[0].needs_qualified[0]", "", 'jobs[0].needs_qualified[0]: job A: "" is empty'),
    (
        "materials[0].filled",
        "wood",
        'materials[0].filled: material HOT: "wood" is not "carbon" or "glass" or "mineral"',
    ),
    # numbers
    ("site.ambient_c", "20", 'site.ambient_c: "20" is not a number'),
    ("site.ambient_c", True, "site.ambient_c: true is not a number"),
    ("site.ambient_c", math.nan, "site.ambient_c: NaN is not a number"),
    ("site.ambient_c", math.inf, "site.ambient_c: Infinity is too large (at most 1000000000)"),
    ("site.ambient_c", -274, "site.ambient_c: -274 °C is colder than anything can be"),
    ("site.move_cost_h", -0.5, "site.move_cost_h: -0.5 is negative"),
    ("site.plate_min", 1.5, "site.plate_min: 1.5 is not a whole number"),
    ("site.plate_min", 4.0, "site.plate_min: 4.0 is not a whole number"),
    ("site.plate_min", False, "site.plate_min: false is not a whole number"),
    ("site.plate_min", -1, "site.plate_min: -1 is negative"),
    ("jobs[0].print_min", 10**10, "jobs[0].print_min: job A: 10000000000 is too large (at most 1000000000)"),
    (
        "jobs[0].print_min",
        10**600,
        "jobs[0].print_min: job A: a number of about 600 digits is too large (at most 1000000000)",
    ),
    ("jobs[0].weight", -1, "jobs[0].weight: job A: -1 is negative"),
    ("jobs[0].feeds[0].grams", -1, "jobs[0].feeds[0].grams: job A: -1 is negative"),
    ("spools[0].grams", -1, "spools[0].grams: spool s_hot1: -1 is negative"),
    ("spools[0].exposed_min", -1, "spools[0].exposed_min: spool s_hot1: -1 is negative"),
    ("materials[0].drying[1].hours", -1, "materials[0].drying[1].hours: material HOT: -1 is negative"),
    ("materials[0].soak_min", None, "materials[0].soak_min: material HOT: null is not a whole number"),
    (
        "materials[0].max_cool_c_per_min",
        0,
        "materials[0].max_cool_c_per_min: material HOT: 0 is not positive",
    ),
    ("printers[0].heat_tau_min", 0, "printers[0].heat_tau_min: printer P1: 0 is not positive"),
    ("printers[0].cool_tau_min", -3, "printers[0].cool_tau_min: printer P1: -3 is not positive"),
    ("printers[0].speed_factor", 0, "printers[0].speed_factor: printer P1: 0 is not positive"),
    ("dryers[0].slots", 0, "dryers[0].slots: dryer D1: 0 is less than 1"),
    ("shifts[1].hands", -1, "shifts[1].hands: -1 is negative"),
    # windows and temperatures
    ("materials[0].nozzle_c", [400, 350], "materials[0].nozzle_c: material HOT: [400, 350] is upside down"),
    (
        "materials[0].bed_c",
        [90],
        "materials[0].bed_c: material HOT: a list of 1 is not a window of two numbers, [lo, hi]",
    ),
    ("materials[0].bed_c", [90, "x"], 'materials[0].bed_c[1]: material HOT: "x" is not a number'),
    (
        "materials[0].release_c",
        20,
        "materials[0].release_c: material HOT: a release at 20 °C is not above the room's 20 °C",
    ),
    (
        "materials[2].chamber_c",
        [10, 20],
        "materials[2].chamber_c: material PLA: the window's upper end of 20 °C is not above the room's 20 °C",
    ),
    (
        "printers[0].chamber_reach_c",
        120,
        "printers[0].chamber_reach_c: printer P1: a reach of 120 °C is not above the chamber's "
        "maximum of 120 °C",
    ),
    (
        "printers[0].chamber_reach_c",
        None,
        "printers[0].chamber_reach_c: printer P1: null is given, yet the chamber is heated to at most 120 °C",
    ),
    (
        "printers[0].chamber_max_c",
        None,
        "printers[0].chamber_max_c: printer P1: null says that the chamber is not heated, "
        "yet its reach is given as 140 °C",
    ),
    (
        "dryers[0].fixed_c",
        50,
        "dryers[0].fixed_c: dryer D1: a batch dryer has no fixed temperature, yet 50 is given",
    ),
    (
        "dryers[2].fixed_c",
        None,
        "dryers[2].fixed_c: dryer R1: a rolling dryer needs its fixed temperature, null is given",
    ),
    # instants
    (
        "site.plan_start",
        "2031-03-03",
        'site.plan_start: "2031-03-03" has no time of the day and no offset, as in 2031-03-03T06:00:00+00:00',
    ),
    (
        "site.plan_start",
        "2031-03-03T06:00",
        'site.plan_start: "2031-03-03T06:00" has no offset from UTC, such as +01:00',
    ),
    (
        "site.plan_start",
        "2031-03-03T06:00:30Z",
        'site.plan_start: "2031-03-03T06:00:30Z" is not on a whole minute',
    ),
    (
        "site.plan_start",
        "2031-02-30T06:00Z",
        'site.plan_start: "2031-02-30T06:00Z" is no day of the calendar or time of the day',
    ),
    ("jobs[0].due", "soon", 'jobs[0].due: job A: "soon" is not an instant such as 2031-03-03T06:00:00+00:00'),
    ("jobs[0].due", 1899, "jobs[0].due: job A: 1899 is not an instant such as 2031-03-03T06:00:00+00:00"),
    (
        "jobs[0].release",
        "0001-01-01T00:00Z",
        'jobs[0].release: job A: "0001-01-01T00:00Z" is outside the years 1900 to 2999',
    ),
    ("site.timezone", "Mars/Base", "site.timezone: there is no time zone Mars/Base"),
    ("site.timezone", "../etc/passwd", "site.timezone: there is no time zone ../etc/passwd"),
    # stretches
    ("shifts", [], "shifts: at least 1 is needed, there is none"),
    (
        "shifts[0].end",
        "2031-03-03T06:00:00+00:00",
        "shifts[0].end: the shift ends at 2031-03-03T06:00:00+00:00, when it starts",
    ),
    (
        "printers[1].downtime[0].end",
        "2031-03-03T17:00:00+00:00",
        "printers[1].downtime[0].end: printer P2: the downtime ends at 2031-03-03T17:00:00+00:00, "
        "before it starts at 2031-03-03T17:40:00+00:00",
    ),
    (
        "under_way.dryer_runs[0].end",
        "2031-03-03T04:00:00+00:00",
        "under_way.dryer_runs[0].end: dryer run u1: the run ends at 2031-03-03T04:00:00+00:00, "
        "before it starts at 2031-03-03T04:20:00+00:00",
    ),
    (
        "under_way.dryer_runs[0].start",
        "2031-03-03T06:00:00+00:00",
        "under_way.dryer_runs[0].start: dryer run u1: the run is under way, "
        "yet starts at 2031-03-03T06:00:00+00:00, not before plan_start",
    ),
    # how many
    ("printers[1].heads", [], "printers[1].heads: printer P2: at least 1 is needed, there is none"),
    ("printers[0].heads[2]", THIRD_HEAD, "printers[0].heads: printer P1: 3 are given, at most 2 can be"),
    ("jobs[1].feeds", [], "jobs[1].feeds: job B: at least 1 is needed, there is none"),
    ("jobs[0].feeds[2]", FEED_OF_A, "jobs[0].feeds: job A: 3 are given, at most 2 can be"),
    # ids
    ("spools[7].id", "s_hot1", "spools[7].id: spool s_hot1: the id s_hot1 is given already at spools[0].id"),
    ("jobs[0].id", " ", 'jobs[0].id: job " ": " " is empty'),
    ("spools[0].material", "PEX", "spools[0].material: spool s_hot1: there is no material PEX"),
    ("jobs[0].feeds[1].material", "PEX", "jobs[0].feeds[1].material: job A: there is no material PEX"),
    ("jobs[5].same_lot_as", "V", "jobs[5].same_lot_as: job G: there is no job V"),
    ("jobs[3].pinned.printer", "P9", "jobs[3].pinned.printer: job E: there is no printer P9"),
    ("site.purges[0].from", "PEX", "site.purges[0].from: there is no material PEX"),
    (
        "site.purges[1]",
        {"from": "HOT", "to": "PLA", "min": 9},
        "site.purges[1].min: 9 from HOT to PLA, yet 12 at site.purges[0]",
    ),
    (
        "printers[0].heads[0].mounted.spool",
        "s",
        "printers[0].heads[0].mounted.spool: printer P1, head H1: there is no spool s",
    ),
    (
        "printers[0].heads[0].mounted.nozzle",
        "n06",
        "printers[0].heads[0].mounted.nozzle: printer P1, head H1: there is no nozzle n06 for this head",
    ),
    (
        "printers[0].heads[0].nozzles[1].id",
        "n04",
        "printers[0].heads[0].nozzles[1].id: printer P1, head H1, nozzle n04: "
        "the id n04 is given already at printers[0].heads[0].nozzles[0].id",
    ),
    (
        "under_way.dryer_runs[0].dryer",
        "D9",
        "under_way.dryer_runs[0].dryer: dryer run u1: there is no dryer D9",
    ),
    (
        "under_way.dryer_runs[0].spools[1]",
        "s_pla3",
        "under_way.dryer_runs[0].spools[1]: dryer run u1: "
        "the spool s_pla3 is given already at under_way.dryer_runs[0].spools[0]",
    ),
    # progress
    ("jobs[4].progress.printer", "P7", "jobs[4].progress.printer: job U: there is no printer P7"),
    (f"{FEED}.head", "H7", f"{FEED}.head: job U: there is no head H7 on printer P3"),
    (f"{FEED}.nozzle", "n06", f"{FEED}.nozzle: job U: there is no nozzle n06 for head H1 on printer P3"),
    (f"{FEED}.spool", "s", f"{FEED}.spool: job U: there is no spool s"),
    (
        "jobs[4].progress.feeds[1]",
        {"head": "H1", "nozzle": "n04", "spool": "s_pla5"},
        [
            "jobs[4].progress.feeds: job U: the progress has 2 feeds, the job 1",
            "jobs[4].progress.feeds[1].head: job U: head H1 is given already at "
            "jobs[4].progress.feeds[0].head",
        ],
    ),
    ("jobs[4].progress.feeds", [], "jobs[4].progress.feeds: job U: the progress has 0 feeds, the job 1"),
    (STEPS, [], f"{STEPS}: job U: at least 1 is needed, there is none"),
    (
        f"{STEPS}[1]",
        GONE,
        f"{STEPS}: job U: not the first of changeover, preheat, start, print, cooldown, unload in "
        "that order: "
        "changeover, start, print",
    ),
    (
        f"{STEPS}[3]",
        GONE,
        f"{STEPS}: job U: the start ended at 2031-03-03T05:21:00+00:00, so the print began then: list it too",
    ),
    (
        f"{STEPS}[3].end",
        "2031-03-03T05:59:00+00:00",
        f"{STEPS}: job U: the print ended at 2031-03-03T05:59:00+00:00, so the cooldown began then: "
        "list it too",
    ),
    (
        f"{STEPS}[3].start",
        "2031-03-03T05:22:00+00:00",
        f"{STEPS}[3].start: job U: the print starts at 2031-03-03T05:22:00+00:00, "
        "yet must start when the start ends, at 2031-03-03T05:21:00+00:00",
    ),
    (
        f"{STEPS}[1].start",
        "2031-03-03T05:09:00+00:00",
        f"{STEPS}[1].start: job U: the preheat starts at 2031-03-03T05:09:00+00:00, "
        "before the changeover ends at 2031-03-03T05:10:00+00:00",
    ),
    (
        f"{STEPS}[0].start",
        "2031-03-03T05:11:00+00:00",
        f"{STEPS}[0].end: job U: the step ends at 2031-03-03T05:10:00+00:00, "
        "before it starts at 2031-03-03T05:11:00+00:00",
    ),
    (
        f"{STEPS}[0].kind",
        "purge",
        f'{STEPS}[0].kind: job U: "purge" is not "changeover" or "preheat" or "start" or "print" or '
        '"cooldown" or "unload"',
    ),
]


@pytest.mark.parametrize(("path", "value", "message"), ONE_OFFENCE, ids=map(str, range(len(ONE_OFFENCE))))
def test_one_thing_wrong_is_one_message(path: str, value: Any, message: str | list[str]) -> None:
    expected = [message] if isinstance(message, str) else message
    assert scenario_messages(example("scenario", {path: value})) == expected


def test_everything_wrong_is_said_at_once_in_the_files_order() -> None:
    text = example(
        "scenario",
        {
            "site.plate_min": 1.5,
            "materials[1].release_c": 12,
            "printers[2].id": "P1",
            "jobs[0].print_min": "61",
            "jobs[1].feeds[0].material": "PEX",
            "jobs[2].dew": None,
            "jobs[2].due": GONE,
            f"{STEPS}[3].end": "2031-03-03T05:59:00+00:00",
            f"{STEPS}[0].kind": "changeover",
            "under_way.oven_runs": None,
        },
    )
    assert scenario_messages(text) == [
        "site.plate_min: 1.5 is not a whole number",
        "materials[1].release_c: material SUP: a release at 12 °C is not above the room's 20 °C",
        "printers[2].id: printer P1: the id P1 is given already at printers[0].id",
        'jobs[0].print_min: job A: "61" is not a whole number',
        "jobs[1].feeds[0].material: job B: there is no material PEX",
        "jobs[2].dew: job D: no such key belongs here; is due meant?",
        "jobs[2].due: job D: the key is missing",
        "jobs[4].progress.printer: job U: there is no printer P3",
        f"{STEPS}: job U: the print ended at 2031-03-03T05:59:00+00:00, so the cooldown began then: "
        "list it too",
        "jobs[13].pinned.printer: job Q: there is no printer P3",
        "under_way.oven_runs: null is not a list of objects",
    ]


def test_an_unreadable_list_makes_no_id_unknown() -> None:
    assert scenario_messages(example("scenario", {"materials": 3})) == [
        "materials: 3 is not a list of objects"
    ]


def test_the_offence_carries_path_and_value() -> None:
    with pytest.raises(BadFile) as caught:
        decode_scenario(example("scenario", {"jobs[0].feeds[1].grams": -4}))
    (offence,) = caught.value.offences
    assert (offence.path, offence.value) == ("jobs[0].feeds[1].grams", -4)
    assert str(caught.value) == "jobs[0].feeds[1].grams: job A: -4 is negative"


def test_a_step_that_starts_at_plan_start_has_not_begun() -> None:
    late = {f"{STEPS}[2].end": "2031-03-03T06:00:00+00:00", f"{STEPS}[3].start": "2031-03-03T06:00:00+00:00"}
    assert scenario_messages(example("scenario", late)) == [
        f"{STEPS}[3].start: job U: the step is under way, yet starts at 2031-03-03T06:00:00+00:00, "
        "not before plan_start"
    ]
    assert scenario_messages(example("scenario", {f"{STEPS}[3]": GONE, **dict([*late.items()][:1])})) == []


ALLOWED: dict[str, dict[str, Any]] = {
    "negative ambient": {"site.ambient_c": -10},
    "zero minutes": {"site.plate_min": 0, "jobs[1].print_min": 0, "printers[0].bed_heat_min": 0},
    "zero weight": {"jobs[0].weight": 0},
    "due before release": {"jobs[0].due": "2031-02-01T00:00:00+00:00"},
    "lots in a ring": {"jobs[1].same_lot_as": "D", "jobs[2].same_lot_as": "B", "jobs[0].same_lot_as": "A"},
    "another material mounted than the spool's": {"printers[0].heads[0].mounted.material": "CF"},
    "nobody in a shift": {"shifts[1].hands": 0},
    "overlapping downtime": {
        "printers[1].downtime[1]": {
            "start": "2031-03-03T18:00:00+00:00",
            "end": "2031-03-03T19:00:00+01:00",
            "reason": "",
        }
    },
    "a run that has ended": {"under_way.dryer_runs[0].end": "2031-03-03T05:00:00+00:00"},
    "all six steps begun": {
        f"{STEPS}[3].end": "2031-03-03T05:30:00+00:00",
        f"{STEPS}[4]": {
            "kind": "cooldown",
            "start": "2031-03-03T05:30:00+00:00",
            "end": "2031-03-03T05:35:00+00:00",
        },
        f"{STEPS}[5]": {
            "kind": "unload",
            "start": "2031-03-03T05:50:00+00:00",
            "end": "2031-03-03T06:01:00+00:00",
        },
    },
    "a cooldown that ended, not yet unloaded": {
        f"{STEPS}[3].end": "2031-03-03T05:30:00+00:00",
        f"{STEPS}[4]": {
            "kind": "cooldown",
            "start": "2031-03-03T05:30:00+00:00",
            "end": "2031-03-03T05:35:00+00:00",
        },
    },
    "a window of one temperature": {"materials[0].bed_c": [120, 120]},
    "instants with Z and other offsets": {
        "jobs[0].due": "2031-03-03T21:30+05:30",
        "jobs[0].release": "2031-03-01T06:00Z",
    },
    "an empty shop": {"spools": [], "jobs": [], "printers": [], "under_way.dryer_runs": []},
    "own rows that are none": {"spools[4].drying": []},
    "a pin in the past": {"jobs[3].pinned.print_start": "2031-03-01T10:11:00+00:00"},
    "no nozzle allowed": {"jobs[1].feeds[0].nozzle_mm": []},
}


@pytest.mark.parametrize("changes", ALLOWED.values(), ids=ALLOWED)
def test_what_the_contract_allows_is_read(changes: dict[str, Any]) -> None:
    assert scenario_messages(example("scenario", changes)) == []
