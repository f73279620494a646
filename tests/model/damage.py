"""The worked example with single places changed."""

from __future__ import annotations

import json
import re
from typing import Any

from scheduler.model.codec import BadFile, decode_plan, decode_scenario
from tests.builders import WORKED_EXAMPLE

#: Stands for a key or entry that is taken out.
GONE = object()


def example(name: str, changes: dict[str, Any]) -> str:
    """The file's text with other values at these paths; an index one past the end appends."""
    tree = json.loads((WORKED_EXAMPLE / f"{name}.json").read_bytes())
    for path, value in changes.items():
        parts = [int(part) if part.isdigit() else part for part in re.findall(r"\w+", path)]
        holder = tree
        for part in parts[:-1]:
            holder = holder[part]
        if value is GONE:
            del holder[parts[-1]]
        elif isinstance(holder, list) and parts[-1] == len(holder):
            holder.append(value)
        else:
            holder[parts[-1]] = value
    return json.dumps(tree, ensure_ascii=False)


def scenario_messages(text: str | bytes) -> list[str]:
    """What is said about a scenario file, line by line; nothing if it is read."""
    try:
        decode_scenario(text)
    except BadFile as bad:
        return [str(offence) for offence in bad.offences]
    return []


def plan_messages(text: str | bytes) -> list[str]:
    """What is said about a plan file beside the worked example's scenario."""
    try:
        decode_plan(text, decode_scenario((WORKED_EXAMPLE / "scenario.json").read_bytes()))
    except BadFile as bad:
        return [str(offence) for offence in bad.offences]
    return []
