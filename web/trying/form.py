"""The questions of the page "What if", read from its forms."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from scheduler.model import Scenario
from scheduler.model.errors import SoaklineError
from scheduler.planning.situations import machine_down, person_less, rush_job
from web.times import figure, time_only, when

#: Shifts that the form offers.
SHIFTS_OFFERED = 14
#: Jobs that the form's list suggests.
JOBS_OFFERED = 300


class Unclear(SoaklineError):
    """A field that can't be read."""


def changed_shop(scenario: Scenario, form: Mapping[str, str]) -> tuple[str, Scenario]:
    """The question in words, and the shop that it is about.

    Raises
    ------
    SoaklineError
        With the field and the figure that make no sense.
    """
    kind = form.get("kind", "")
    if kind == "machine":
        printer, hours = form.get("printer", ""), _number(form, "hours", "Out of use for")
        return f"{printer} is down for {figure(hours)} h from now", machine_down(scenario, printer, hours)
    if kind == "person":
        number = _number(form, "shift", "Shift")
        changed = person_less(scenario, int(number))
        shift = scenario.shifts[int(number)]
        return f"one person less {when(shift.start)} to {time_only(shift.end)}", changed
    if kind == "rush":
        due_h, weight = _number(form, "due_h", "Due in"), _number(form, "weight", "Weight")
        like = form.get("job", "").strip()
        changed, id = rush_job(scenario, like, due_h, weight)
        return f"a rush job like {like}, due in {figure(due_h)} h, weight {figure(weight)} ({id})", changed
    raise Unclear(f"there is nothing to try called {kind!r}")


def offered_shifts(scenario: Scenario, now: datetime) -> list[tuple[int, str]]:
    """Numbers and words of the shifts to come, the next first."""
    coming = [(number, shift) for number, shift in enumerate(scenario.shifts) if shift.end > now]
    coming.sort(key=lambda row: (row[1].start, row[0]))
    return [
        (
            number,
            f"{when(shift.start)} to {time_only(shift.end)}, "
            f"{'1 person' if shift.hands == 1 else f'{shift.hands} people'}",
        )
        for number, shift in coming[:SHIFTS_OFFERED]
    ]


def _number(form: Mapping[str, str], name: str, label: str) -> float:
    text = form.get(name, "").strip().replace(",", ".")
    try:
        value = float(text)
    except ValueError:
        raise Unclear(f"{label}: {text!r} is not a number") from None
    if value != value or abs(value) > 1e9:
        raise Unclear(f"{label}: {text} is no figure to reckon with")
    return value
