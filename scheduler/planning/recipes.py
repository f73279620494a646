"""Drying recipes as runs of dryers; spools with the same runs share a class."""

from __future__ import annotations

from scheduler.model import Dryer, DryingRow, Scenario, Spool
from scheduler.physics import whole_minutes


def usable_runs(rows: tuple[DryingRow, ...], spool: Spool, dryer: Dryer) -> list[tuple[float, int]]:
    """Setpoint and least minutes of each run of ``dryer`` that dries ``spool``, warm-up included."""
    best: dict[float, float] = {}
    for row in rows:
        if row.temp_c > min(dryer.max_c, spool.body_max_c) or (row.vacuum and not dryer.vacuum):
            continue
        if dryer.fixed_c is not None and row.temp_c != dryer.fixed_c:
            continue
        best[row.temp_c] = min(row.hours, best.get(row.temp_c, row.hours))
    warm = dryer.warmup_min if dryer.kind == "batch" else 0
    return [(temp, warm + whole_minutes(60 * hours)) for temp, hours in sorted(best.items())]


class DryingClasses:
    def __init__(self, scenario: Scenario, machines: dict[str, int]) -> None:
        self.dryers, self.machines = scenario.dryers, machines
        self.known: dict[tuple[tuple[DryingRow, ...], tuple[bool, ...]], int] = {}
        self.off, self.machine, self.set_c, self.minutes = [0], [], [], []  # type: list[int], list[int], list[float], list[int]

    def of(self, rows: tuple[DryingRow, ...], spool: Spool) -> int:
        key = (rows, tuple(row.temp_c <= spool.body_max_c for row in rows))
        if key not in self.known:
            self.known[key] = len(self.known)
            runs = [
                (minutes, self.machines[dryer.id], temp)
                for dryer in self.dryers
                for temp, minutes in usable_runs(rows, spool, dryer)
            ]
            for minutes, machine, temp in sorted(runs):
                self.machine.append(machine)
                self.set_c.append(temp)
                self.minutes.append(minutes)
            self.off.append(len(self.machine))
        return self.known[key]
