"""The worked example is read whole, written back the same, and named by the hash in its plan."""

from __future__ import annotations

import json

from scheduler.model.codec import (
    decode_plan,
    decode_scenario,
    encode_plan,
    encode_scenario,
    hash_text,
    read_plan_file,
    read_scenario_file,
    scenario_offences,
    to_json,
)
from tests.builders import WORKED_EXAMPLE

SCENARIO = WORKED_EXAMPLE / "scenario.json"
PLAN = WORKED_EXAMPLE / "plan.json"


def test_the_plan_names_the_scenario_by_its_hash() -> None:
    scenario, found = read_scenario_file(SCENARIO)
    plan = read_plan_file(PLAN, scenario)
    assert found == hash_text(SCENARIO.read_text("utf-8")) == plan.scenario_hash


def test_figures_are_read_as_they_stand() -> None:
    scenario, _ = read_scenario_file(SCENARIO)
    assert (len(scenario.jobs), len(scenario.spools), len(scenario.printers)) == (14, 12, 3)
    assert scenario.site.purges[0].source == "HOT" and scenario.site.purges[0].minutes == 12
    hot = scenario.materials[0]
    assert type(hot.nozzle_c.lo) is float and hot.nozzle_c.lo == 350.0
    assert type(hot.soak_min) is int and hot.soak_min == 20
    assert scenario.site.minute(scenario.jobs[0].due) == 600


def test_what_is_written_back_is_the_same_file() -> None:
    scenario, _ = read_scenario_file(SCENARIO)
    plan = read_plan_file(PLAN, scenario)
    assert encode_scenario(scenario) == json.loads(SCENARIO.read_bytes())
    assert encode_plan(plan) == json.loads(PLAN.read_bytes())
    assert decode_scenario(to_json(encode_scenario(scenario))) == scenario
    assert decode_plan(to_json(encode_plan(plan)), scenario) == plan
    assert list(encode_scenario(scenario)["jobs"][0]) == list(json.loads(SCENARIO.read_bytes())["jobs"][0])


def test_whole_figures_are_written_without_a_point() -> None:
    scenario, _ = read_scenario_file(SCENARIO)
    assert '"ambient_c": 20,' in to_json(encode_scenario(scenario))


def test_nothing_is_wrong_with_it_in_memory_either() -> None:
    scenario, _ = read_scenario_file(SCENARIO)
    assert scenario_offences(scenario) == ()
