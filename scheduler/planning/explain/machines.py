"""One job against every machine: which could make it, and what each other one lacks."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.matching import Matcher
from scheduler.model import Reason, Scenario


@dataclass(frozen=True, slots=True)
class MachineRow:
    """A printer with the checks that a job fails there; none: it fits."""

    printer: str
    failures: tuple[Reason, ...]

    @property
    def fits(self) -> bool:
        return not self.failures


def machine_table(scenario: Scenario, matcher: Matcher, job_id: str) -> tuple[MachineRow, ...]:
    """A row for each printer: those that fit first, then by the number of failed checks, then by id."""
    rows = [MachineRow(printer.id, matcher.failures(job_id, printer.id)) for printer in scenario.printers]
    return tuple(sorted(rows, key=lambda row: (len({one.check for one in row.failures}), row.printer)))
