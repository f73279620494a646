"""What the schema can't say: how the parts of a file must fit together."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.model.codec.offences import Found
from scheduler.model.codec.rules.heat import temperatures
from scheduler.model.codec.rules.known import Ids, scenario_ids
from scheduler.model.codec.rules.plan import plan_found
from scheduler.model.codec.rules.steps import progress
from scheduler.model.codec.rules.times import plan_start, scenario_times

__all__ = ["Ids", "plan_found", "scenario_found"]


def scenario_found(raw: object) -> Iterator[Found]:
    """Every offence of a scenario file that is one between its parts."""
    yield from scenario_ids(raw, Ids(raw))
    yield from temperatures(raw)
    yield from scenario_times(raw)
    yield from progress(raw, plan_start(raw))
