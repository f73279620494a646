"""How long and how hot: a table of drying runs by temperature, for anyone who asks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.model import DryingRow
from scheduler.physics.moisture.air import Air
from scheduler.physics.moisture.drying import STEP_H, DryerAir, Run, anchor, row_hours, run_to
from scheduler.physics.moisture.polymer import Polymer
from scheduler.physics.moisture.recipes import PUBLISHED
from scheduler.physics.moisture.strand import Strand
from scheduler.physics.nonsense import Nonsense, kelvin

COOLEST_C = 40
GRID_C = 5
#: Hottest that is looked at where no recipe says, °C.
HOTTEST_C = 120.0


@dataclass(frozen=True, slots=True)
class Answer:
    """One temperature: the model's run, and the hours to plan with (``None`` if it never gets there)."""

    temp_c: float
    run: Run
    hours: float | None
    goal_pct: float


def temperatures(polymer: Polymer, rows: Sequence[DryingRow], body_c: float | None) -> list[float]:
    """Setpoints from 40 °C to the hottest that recipes name and the spool's body stands."""
    if body_c is not None:
        kelvin("what the spool's body stands", body_c)
    published = [
        each.temp_c for each in PUBLISHED if each.polymer == polymer.name and each.for_what == "filament"
    ]
    hottest = max([row.temp_c for row in rows] or published or [HOTTEST_C])
    most = hottest if body_c is None else min(hottest, body_c)
    temps = [float(temp) for temp in range(COOLEST_C, int(most) + 1, GRID_C)]
    if not temps:
        raise Nonsense(f"a body that stands {most:g} °C stands no drying; respool")
    if temps[-1] < most:
        temps.append(most)
    return temps


def ask(
    polymer: Polymer,
    spool: Strand,
    temps: Sequence[float],
    rows: Sequence[DryingRow],
    limit_pct: float,
    dryer: DryerAir,
    vacuum: bool,
    room: Air,
) -> list[Answer]:
    """The run at each of ``temps``; the reserve of the recipes ``rows`` is kept."""
    answers = []
    for temp in temps:
        known = anchor(polymer, spool.radius_m * 2e3, rows, temp, vacuum, limit_pct, dryer, room.temp_c)
        found = run_to(polymer, spool, dryer.around(room, temp, vacuum), known.goal_pct)
        hours = None if found.hours is None else row_hours(max(found.hours * known.reserve, STEP_H))
        answers.append(Answer(temp, found, hours, known.goal_pct))
    return answers


def best(answers: Sequence[Answer]) -> Answer | None:
    """The hottest that gets there, which is the shortest; ``None`` if none does."""
    return next((answer for answer in reversed(answers) if answer.hours is not None), None)
