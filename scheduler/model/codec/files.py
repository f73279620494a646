"""Scenario and plan files: text to values and back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path as FilePath
from typing import Any, cast

from marshmallow import ValidationError

from scheduler.model.codec.json_text import hash_text, hash_value, parse
from scheduler.model.codec.offences import (
    BadFile,
    Found,
    Offence,
    Path,
    named,
    offences_in,
    shown,
    whole_file,
)
from scheduler.model.codec.plan_schema import PlanSchema
from scheduler.model.codec.records import FileRecord
from scheduler.model.codec.rules import Ids, plan_found, scenario_found
from scheduler.model.codec.scenario_schema import ScenarioSchema
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario

_SCENARIO = ScenarioSchema()
_PLAN = PlanSchema()


def decode_scenario(text: str | bytes) -> Scenario:
    """The scenario of a file's text; `BadFile` lists everything that is wrong with it."""
    parsed = parse(text)
    return cast(Scenario, _loaded(_SCENARIO, parsed.value, [*parsed.repeated, *scenario_found(parsed.value)]))


def decode_plan(text: str | bytes, scenario: Scenario | None = None) -> Plan:
    """The plan of a file's text, its ids held against the scenario if one is given.

    Raises
    ------
    BadFile
        With everything that is wrong. Whether the plan is valid is another question.
    """
    parsed = parse(text)
    ids = Ids(_ids_of(scenario) if scenario else None)
    return cast(Plan, _loaded(_PLAN, parsed.value, [*parsed.repeated, *plan_found(parsed.value, ids)]))


def encode_scenario(scenario: Scenario) -> dict[str, Any]:
    """A scenario as a file holds it, keys in the contract's order."""
    return cast(dict[str, Any], _SCENARIO.dump(scenario))


def encode_plan(plan: Plan) -> dict[str, Any]:
    """A plan as a file holds it, keys in the contract's order."""
    return cast(dict[str, Any], _PLAN.dump(plan))


def scenario_hash(scenario: Scenario) -> str:
    """The hash of the scenario as `encode_scenario` spells it."""
    return hash_value(encode_scenario(scenario))


def scenario_offences(scenario: Scenario) -> tuple[Offence, ...]:
    """What would be wrong with the scenario's file: for a shop that was changed in memory."""
    raw = encode_scenario(scenario)
    try:
        _loaded(_SCENARIO, raw, list(scenario_found(raw)))
    except BadFile as bad:
        return bad.offences
    return ()


def read_scenario_file(path: str | FilePath) -> tuple[Scenario, str]:
    """A file's scenario and the hash of its text."""
    data = _bytes(path)
    return decode_scenario(data), hash_text(data)


def read_plan_file(path: str | FilePath, scenario: Scenario | None = None) -> Plan:
    """A file's plan; see `decode_plan`."""
    return decode_plan(_bytes(path), scenario)


def _bytes(path: str | FilePath) -> bytes:
    try:
        return FilePath(path).read_bytes()
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        # However long, a path is told whole: its end is what tells files apart.
        name = str(path) if str(path).isprintable() else named(str(path))
        raise whole_file(f"{name} can't be read: {why}", str(path)) from error


def _loaded(schema: FileRecord, raw: object, found: list[Found]) -> Any:
    """The schema's dataclass of a raw value, unless it or anybody found an offence."""
    if not isinstance(raw, dict):
        raise whole_file(f"an object belongs at the top of the file, there is {shown(raw)}", raw)
    try:
        value = schema.load(raw)
    except ValidationError as error:
        found += _flat(error.messages, raw, ())
    if found:
        raise BadFile(offences_in(raw, found))
    return value


def _flat(messages: Any, raw: object, path: Path) -> Iterator[Found]:
    """Marshmallow's nested messages as findings."""
    if not isinstance(messages, dict):
        for message in messages:
            yield path, message
        return
    for key, under in messages.items():
        # What concerns an object or list as a whole has this key; a file may have a key so named.
        whole = key == "_schema" and not (isinstance(raw, dict) and key in raw)
        beneath: object = None
        if isinstance(raw, dict):
            beneath = raw.get(key)
        elif isinstance(raw, list) and isinstance(key, int):
            beneath = raw[key]
        yield from _flat(under, raw if whole else beneath, path if whole else (*path, key))


def _ids_of(scenario: Scenario) -> dict[str, Any]:
    """As much of a scenario file as `Ids` looks at."""

    def only_id(parts: Any) -> list[dict[str, Any]]:
        return [{"id": part.id} for part in parts]

    return {
        "materials": only_id(scenario.materials),
        "dryers": only_id(scenario.dryers),
        "ovens": only_id(scenario.ovens),
        "spools": only_id(scenario.spools),
        "jobs": only_id(scenario.jobs),
        "printers": [
            {
                "id": printer.id,
                "heads": [{"id": head.id, "nozzles": only_id(head.nozzles)} for head in printer.heads],
            }
            for printer in scenario.printers
        ],
    }
