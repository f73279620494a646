"""A plan file against itself and against the ids of its scenario."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from scheduler.model.codec.offences import Found, Path
from scheduler.model.codec.rules.known import Ids, feed_choices, given_twice, ids_at, runs, unknown
from scheduler.model.codec.rules.lens import entries, name
from scheduler.model.codec.rules.steps import planned_six
from scheduler.model.codec.rules.times import forwards


def plan_found(raw: object, ids: Ids) -> Iterator[Found]:
    """Offences between a plan's parts; whether the plan is valid is for the checker to say.

    ``ids`` are those of the scenario, or of nothing, in which case any id is known.
    """
    placed_once = [*ids_at(entries(raw, "jobs"), "job"), *ids_at(entries(raw, "unplaced"), "job")]
    yield from given_twice(placed_once, "job")
    for path, planned in entries(raw, "jobs"):
        yield from unknown(planned, "job", path, ids.jobs, "job")
        yield from unknown(planned, "printer", path, ids.printers, "printer")
        yield from feed_choices(planned, path, name(planned, "printer"), ids)
        yield from planned_six(planned, path)
    yield from runs(raw, (), ids)
    for key in ("dryer_runs", "oven_runs"):
        for run in entries(raw, key):
            yield from forwards(run, "run")
    for path, forced in entries(raw, "forced"):
        yield from unknown(forced, "job", path, ids.jobs, "job")
    for path, unplaced in entries(raw, "unplaced"):
        yield from unknown(unplaced, "job", path, ids.jobs, "job")
        for place, reason in entries(unplaced, "reasons", path):
            yield from _reason(place, reason, ids)


def _reason(path: Path, reason: dict[str, Any], ids: Ids) -> Iterator[Found]:
    printer, head = name(reason, "printer"), name(reason, "head")
    yield from unknown(reason, "printer", path, ids.printers, "printer")
    yield from unknown(reason, "head", path, ids.heads(printer), "head", " on this printer")
    yield from unknown(reason, "nozzle", path, ids.nozzles(printer, head), "nozzle", " for this head")
