"""Whatever can be written is read back the same; whatever is damaged is refused in words."""

from __future__ import annotations

import copy
import json
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from scheduler.model.codec import (
    BadFile,
    decode_plan,
    decode_scenario,
    encode_plan,
    encode_scenario,
    hash_text,
    scenario_hash,
    scenario_offences,
    to_json,
)
from tests.builders import WORKED_EXAMPLE
from tests.model.strategies import for_examples, plans, scenarios

SCENARIO = json.loads((WORKED_EXAMPLE / "scenario.json").read_bytes())
PLAN = json.loads((WORKED_EXAMPLE / "plan.json").read_bytes())

anything = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=5),
        st.sampled_from(["2031-03-03", "2031-03-03T06:00:30+00:00", "\ud800", 10**400, -1, 1.5, "HOT", "P1"]),
    ),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=3), inner, max_size=2),
    max_leaves=4,
)


@given(scenarios())
@for_examples(150)
def test_scenarios_come_back_the_same(scenario: Any) -> None:
    text = to_json(encode_scenario(scenario))
    assert decode_scenario(text) == scenario
    assert decode_scenario(text.encode("utf-8")) == scenario
    assert hash_text(text) == scenario_hash(scenario)
    assert scenario_offences(scenario) == ()


@given(st.data())
@for_examples(80)
def test_plans_come_back_the_same(data: st.DataObject) -> None:
    scenario = data.draw(scenarios())
    plan = data.draw(plans(scenario))
    text = to_json(encode_plan(plan))
    assert decode_plan(text, scenario) == plan
    assert decode_plan(text) == plan


def places(value: Any) -> list[tuple[Any, Any]]:
    """Every (holder, key) of a JSON tree."""
    found: list[tuple[Any, Any]] = []
    if isinstance(value, dict | list):
        for key in value if isinstance(value, dict) else range(len(value)):
            found.append((value, key))
            found += places(value[key])
    return found


def damage(draw: Any, tree: Any) -> None:
    """Change one place of a tree in one of the ways in which files are spoilt."""
    holder, key = draw(st.sampled_from(places(tree)))
    way = draw(st.sampled_from(["delete", "value", "copy", "rename", "swap", "negate"]))
    if way == "delete":
        del holder[key]
    elif way == "value":
        holder[key] = draw(anything)
    elif way == "copy" and isinstance(holder, list):
        holder.append(copy.deepcopy(holder[key]))
    elif way == "rename" and isinstance(holder, dict):
        holder[draw(st.text(max_size=4))] = holder.pop(key)
    elif way == "swap":
        other_holder, other_key = draw(st.sampled_from(places(tree)))
        holder[key] = copy.deepcopy(other_holder[other_key])
    elif type(holder[key]) in (int, float):
        holder[key] = -holder[key]


def assert_refused_or_whole(decode: Any, encode: Any, text: str | bytes) -> None:
    try:
        value = decode(text)
    except BadFile as bad:
        assert bad.offences and all(offence.message for offence in bad.offences)
        assert str(bad).encode("utf-8")
        assert len({str(offence) for offence in bad.offences}) == len(bad.offences)
    else:
        assert decode(to_json(encode(value))) == value


@given(st.data())
@for_examples(150)
def test_a_damaged_scenario_is_refused_in_words(data: st.DataObject) -> None:
    tree = copy.deepcopy(SCENARIO)
    for _ in range(data.draw(st.integers(1, 4))):
        damage(data.draw, tree)
    assert_refused_or_whole(decode_scenario, encode_scenario, json.dumps(tree))


@given(st.data())
@for_examples(100)
def test_a_damaged_plan_is_refused_in_words(data: st.DataObject) -> None:
    tree = copy.deepcopy(PLAN)
    for _ in range(data.draw(st.integers(1, 4))):
        damage(data.draw, tree)
    scenario = decode_scenario(json.dumps(SCENARIO)) if data.draw(st.booleans()) else None
    assert_refused_or_whole(lambda text: decode_plan(text, scenario), encode_plan, json.dumps(tree))


@given(st.data())
@for_examples(150)
def test_spoilt_text_is_refused_in_words(data: st.DataObject) -> None:
    raw = json.dumps(SCENARIO, ensure_ascii=False).encode("utf-8")
    start = data.draw(st.integers(0, len(raw)))
    end = data.draw(st.integers(start, min(len(raw), start + 40)))
    spoilt = data.draw(
        st.sampled_from([raw[:start], raw[:start] + raw[end:], raw[:end] + raw[start:end] + raw[end:]])
        | st.binary(max_size=8).map(lambda noise: raw[:start] + noise + raw[end:])
        | st.sampled_from([b'"', b"}", b"]", b",", b"9", b"e", b"\\ud800", b"\xff"]).map(
            lambda noise: raw[:start] + noise + raw[start:]
        )
    )
    assert_refused_or_whole(decode_scenario, encode_scenario, spoilt)


@given(anything)
@for_examples(100)
def test_any_json_at_the_top_is_refused_in_words(value: Any) -> None:
    for decode in (decode_scenario, decode_plan):
        assert_refused_or_whole(decode, encode_scenario, json.dumps(value))
