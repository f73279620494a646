"""Ending a planning run before its time: its best plan kept, or nothing of it."""

from __future__ import annotations

from scheduler.office.clock import Clock
from scheduler.office.refused import Refused
from scheduler.office.shop import OFFICE
from scheduler.store import Event, PlanningRun, Record, Unit
from scheduler.store.runs import OPEN_STATES

#: Kinds of the events that end a run; who did it is in the event.
KEPT, THROWN_AWAY = "planning ended, best kept", "planning thrown away"


class EndedAlready(Refused):
    """The run was over when somebody wanted to end it."""

    def __init__(self, run: PlanningRun) -> None:
        super().__init__(f"planning run {run.id} has ended already ({run.state})")
        self.run = run


def keep_best(record: Record, clock: Clock, run_id: int, who: str = OFFICE) -> None:
    """Ask a run's worker to end now and to propose the best plan that it has.

    If it has none yet, it ends with the first one. The worker notices at its next sign of progress.
    Asking again changes nothing.

    Raises
    ------
    Refused
        If there is no such run.
    EndedAlready
        If it is over.
    """
    with record.writing() as unit:
        _open_run(unit, run_id)
        if asked_to_keep(unit, run_id) is None:
            unit.events.append(Event(clock(), KEPT, who, "run", str(run_id)))


def throw_away(record: Record, clock: Clock, run_id: int, who: str = OFFICE) -> None:
    """End a run without a plan; its worker notices at its next sign of progress.

    Raises
    ------
    Refused
        If there is no such run.
    EndedAlready
        If it is over.
    """
    with record.writing() as unit:
        _open_run(unit, run_id)
        message = f"{who} threw it away."
        unit.runs.update(run_id, state="stopped", ended_at=clock(), message=message)
        unit.events.append(Event(clock(), THROWN_AWAY, who, "run", str(run_id)))


def asked_to_keep(unit: Unit, run_id: int) -> str | None:
    """Who asked a run to end with its best plan; ``None`` if nobody did."""
    asked = [event.who for event in unit.events.list(("run", str(run_id))) if event.kind == KEPT]
    return asked[0] if asked else None


def _open_run(unit: Unit, run_id: int) -> None:
    run = unit.runs.get(run_id)
    if run is None:
        raise Refused(f"there is no planning run {run_id}")
    if run.state not in OPEN_STATES:
        raise EndedAlready(run)
