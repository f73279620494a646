"""Scenario and plan files, read whole or refused with everything that is wrong in them.

A file goes from text (`json_text`) to a raw value, which the schemas turn into the model's
dataclasses while the rules look at how its parts fit together. What either finds is gathered into
one `BadFile`.
"""

from scheduler.model.codec.files import (
    decode_plan,
    decode_scenario,
    encode_plan,
    encode_scenario,
    read_plan_file,
    read_scenario_file,
    scenario_hash,
    scenario_offences,
)
from scheduler.model.codec.json_text import hash_text, to_json
from scheduler.model.codec.offences import BadFile, Offence

__all__ = [
    "BadFile",
    "Offence",
    "decode_plan",
    "decode_scenario",
    "encode_plan",
    "encode_scenario",
    "hash_text",
    "read_plan_file",
    "read_scenario_file",
    "scenario_hash",
    "scenario_offences",
    "to_json",
]
