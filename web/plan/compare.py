"""What a proposal would change of the published plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from scheduler.model import Plan, PlannedJob


@dataclass(frozen=True, slots=True)
class Difference:
    """One job in both plans, or in one of them; times are those of the print's start."""

    job: str
    old_printer: str | None
    new_printer: str | None
    old_print: datetime | None
    new_print: datetime | None
    old_late_min: int
    new_late_min: int

    @property
    def moved(self) -> bool:
        """True if the job changes its printer."""
        return None not in (self.old_printer, self.new_printer) and self.old_printer != self.new_printer

    @property
    def shifted_min(self) -> int:
        """How much later the print starts, minutes; negative: earlier."""
        if self.old_print is None or self.new_print is None:
            return 0
        return int((self.new_print - self.old_print).total_seconds() // 60)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two plans side by side. Jobs are told once, under the first of these headings that holds.

    ``newly_late`` and ``saved``: late in one plan only. ``gained`` and ``lost``: with a place in one
    plan only. ``moved``: to another printer. ``shifted``: another time on the same printer.
    """

    newly_late: tuple[Difference, ...]
    saved: tuple[Difference, ...]
    gained: tuple[Difference, ...]
    lost: tuple[Difference, ...]
    moved: tuple[Difference, ...]
    shifted: tuple[Difference, ...]
    same: int

    @property
    def changes(self) -> int:
        groups = (self.newly_late, self.saved, self.gained, self.lost, self.moved, self.shifted)
        return sum(len(group) for group in groups)


def _print_start(planned: PlannedJob) -> datetime:
    return next(step.start for step in planned.steps if step.kind == "print")


def _difference(job: str, old: PlannedJob | None, new: PlannedJob | None) -> Difference:
    return Difference(
        job,
        old.printer if old else None,
        new.printer if new else None,
        _print_start(old) if old else None,
        _print_start(new) if new else None,
        old.late_min if old else 0,
        new.late_min if new else 0,
    )


def compare(old: Plan, new: Plan) -> Comparison:
    """What publishing ``new`` would change of ``old``.

    A job that was done or removed in between is in the old plan alone and is not a change; one
    that the new plan could not place is lost.
    """
    before: Mapping[str, PlannedJob] = {planned.job: planned for planned in old.jobs}
    after: Mapping[str, PlannedJob] = {planned.job: planned for planned in new.jobs}
    unplaced = {entry.job for entry in new.unplaced}
    found: dict[str, list[Difference]] = {
        name: [] for name in ("newly_late", "saved", "gained", "lost", "moved", "shifted")
    }
    same = 0
    for id in sorted(before.keys() | after.keys()):
        difference = _difference(id, before.get(id), after.get(id))
        if id not in after:
            if id in unplaced:
                found["lost"].append(difference)
        elif difference.new_late_min > 0 and difference.old_late_min == 0:
            found["newly_late"].append(difference)
        elif id not in before:
            found["gained"].append(difference)
        elif difference.old_late_min > 0 and difference.new_late_min == 0:
            found["saved"].append(difference)
        elif difference.moved:
            found["moved"].append(difference)
        elif difference.shifted_min:
            found["shifted"].append(difference)
        else:
            same += 1
    found["newly_late"].sort(key=lambda difference: -difference.new_late_min)
    return Comparison(**{name: tuple(group) for name, group in found.items()}, same=same)


def late_jobs(plan: Plan) -> int:
    """How many placed jobs are done after due."""
    return sum(planned.late_min > 0 for planned in plan.jobs)
