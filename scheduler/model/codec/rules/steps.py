"""The steps of a job on its printer: in order, without gaps where none may be, begun if listed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise
from typing import Any

from scheduler.model.codec.offences import Found, Path
from scheduler.model.codec.rules.lens import Place, child, entries, instant, length
from scheduler.model.codec.rules.times import begun, forwards
from scheduler.model.common import PRINTER_STEPS

#: Steps that begin the minute in which the one before ends.
WITHOUT_GAP = ("start", "print", "cooldown")


def progress(raw: object, now: datetime | None) -> Iterator[Found]:
    """Whether each job's progress is what can have happened before ``plan_start``."""
    for job_path, job in entries(raw, "jobs"):
        for path, begun_work in child(job, "progress", job_path):
            given, asked = length(begun_work, "feeds"), length(job, "feeds")
            if given is not None and asked is not None and given != asked:
                yield (*path, "feeds"), f"the progress has {given} feeds, the job {asked}"
            yield from _begun_steps(begun_work, path, now)


def planned_six(planned: dict[str, Any], path: Path) -> Iterator[Found]:
    """Whether a planned job lists all six printer steps, each running forwards."""
    kinds = _kinds(planned)
    if kinds is not None and kinds != list(PRINTER_STEPS):
        yield (
            (*path, "steps"),
            f"the six steps {', '.join(PRINTER_STEPS)} are due, listed are {_listed(kinds)}",
        )
    for place in entries(planned, "steps", path):
        yield from forwards(place, "step")


def _begun_steps(begun_work: dict[str, Any], path: Path, now: datetime | None) -> Iterator[Found]:
    kinds = _kinds(begun_work)
    if kinds is None:
        return
    in_order = kinds == list(PRINTER_STEPS[: len(kinds)])
    if not in_order:
        yield (*path, "steps"), f"not the first of {', '.join(PRINTER_STEPS)} in that order: {_listed(kinds)}"
    steps = list(entries(begun_work, "steps", path))
    for place in steps:
        yield from begun(place, "the step", now)
        yield from forwards(place, "step")
    if not in_order or len(steps) != len(kinds):
        return
    for before, after in pairwise(steps):
        yield from _one_after_another(before, after)
    if steps and len(steps) < len(PRINTER_STEPS):
        yield from _must_be_listed(steps[-1], PRINTER_STEPS[len(steps)], path, now)


def _one_after_another(before: Place, after: Place) -> Iterator[Found]:
    path, step = after
    end, start = instant(before[1], "end"), instant(step, "start")
    if end is None or start is None or start == end:
        return
    kind, earlier = step["kind"], before[1]["kind"]
    if start < end:
        yield (
            (*path, "start"),
            f"the {kind} starts at {step['start']}, before the {earlier} ends at {before[1]['end']}",
        )
    elif kind in WITHOUT_GAP:
        yield (
            (*path, "start"),
            f"the {kind} starts at {step['start']}, yet must start when the {earlier} ends, "
            f"at {before[1]['end']}",
        )


def _must_be_listed(last: Place, next_kind: str, path: Path, now: datetime | None) -> Iterator[Found]:
    end = instant(last[1], "end")
    if next_kind in WITHOUT_GAP and end is not None and now is not None and end < now:
        yield (
            (*path, "steps"),
            f"the {last[1]['kind']} ended at {last[1]['end']}, so the {next_kind} began then: list it too",
        )


def _kinds(holder: dict[str, Any]) -> list[str] | None:
    """The kinds of all listed steps, or None if one of them can't be told."""
    listed = holder.get("steps")
    if not isinstance(listed, list):
        return None
    kinds = [step.get("kind") for step in listed if isinstance(step, dict)]
    right = [kind for kind in kinds if kind in PRINTER_STEPS]
    return right if len(right) == len(listed) else None


def _listed(kinds: list[str]) -> str:
    return ", ".join(kinds) or "none"
