"""Attended work lies in staffed time, and never asks for more hands than there are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.checking.breach import Breach
from scheduler.checking.people import People
from scheduler.checking.steps import ATTENDED, WATCHED
from scheduler.checking.view import Annealing, Drying, View
from scheduler.model import PRINTER_STEPS


@dataclass(frozen=True, slots=True)
class Attended:
    """Minutes in which one pair of hands is busy."""

    start: int
    end: int
    who: str
    what: str
    jobs: tuple[str, ...]


def attended(view: View) -> Iterator[Attended]:
    """Everything that a person must do and that had not begun at ``plan_start``."""
    site = view.scenario.site
    for stint in view.stints.values():
        for step in ATTENDED:
            if step >= stint.begun and stint.length(step) > 0:
                what = f"{PRINTER_STEPS[step]} of {stint.job.id}"
                yield Attended(stint.starts[step], stint.ends[step], stint.who, what, (stint.job.id,))
    loads: list[tuple[Drying | Annealing, int, tuple[str, ...]]] = [
        (drying, site.dryer_load_min, ()) for drying in view.dryings
    ]
    loads += [(annealing, site.oven_load_min, annealing.run.jobs) for annealing in view.annealings]
    for run, minutes, jobs in loads:
        end = min(run.start + minutes, run.end)
        if not run.begun and run.start < end:
            yield Attended(run.start, end, run.who, f"loading of {run.run.id}", jobs)


def check_hands(view: View, people: People) -> Iterator[Breach]:
    """Somebody is there, and enough of them."""
    work = list(attended(view))
    for item in work:
        if not people.covers(item.start, item.end):
            text = f"{item.what}, {view.between(item.start, item.end)}, is not wholly in staffed time"
            yield Breach("hands", item.who, text, item.jobs)
    yield from _overloads(view, people, work)


def _overloads(view: View, people: People, work: list[Attended]) -> Iterator[Breach]:
    changes: dict[int, int] = dict.fromkeys(people.times, 0)
    for item in work:
        changes[item.start] = changes.get(item.start, 0) + 1
        changes[item.end] = changes.get(item.end, 0) - 1
    busy = 0
    opened: int | None = None
    # Each stretch is that of the same work, so that a job answers only for its own minutes.
    for time in sorted(changes):
        busy += changes[time]
        if opened is not None:
            yield _overload(view, people, work, opened, time)
            opened = None
        if busy > people.at(time) > 0:
            opened = time


def _overload(view: View, people: People, work: list[Attended], start: int, end: int) -> Breach:
    items = [item for item in work if item.start <= start < item.end]
    # A begun job may have no other minute left. What has not begun never lies over it, whatever is forced.
    begun = all(any(view.stints[job].under_way for job in item.jobs if job in view.stints) for item in items)
    names = ", ".join(item.what for item in items)
    text = f"{view.between(start, end)}: {len(items)} attended steps ({names}), hands: {people.at(start)}"
    jobs = tuple(job for item in items for job in item.jobs) if begun else ()
    return Breach("hands", "people", text, jobs)


def check_unattended(view: View, people: People) -> Iterator[Breach]:
    """A printer that may not run alone heats, prints and cools in staffed time only."""
    for stint in view.stints.values():
        if stint.printer.unattended:
            continue
        for step in WATCHED:
            if step < stint.begun or stint.must_follow(step):
                continue
            if not people.covers(stint.starts[step], stint.ends[step]):
                text = (
                    f"{PRINTER_STEPS[step]}, {view.between(stint.starts[step], stint.ends[step])}, is not "
                    f"wholly in staffed time, and printer {stint.printer.id} may not run unattended"
                )
                yield Breach("unattended", stint.who, text, (stint.job.id,))
