"""What the wall and the board's list say once the floor reports: states and touches, not the plan's guess."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from scheduler.floor import FloorRun
from web.board.hands import AHEAD, MOST, Task
from web.board.wall import Tile
from web.floor.desk import Desk

#: How long a touch that is due is shown to last.
TOUCH = timedelta(minutes=10)
#: Planned work at a machine that the machine's own next touch stands for.
AT_MACHINES = ("Change over", "Watch the start on", "Unload")


def tiles(desks: Iterable[Desk], now: datetime, late: set[str]) -> tuple[Tile, ...]:
    """Every machine as it was reported, in the fleet's order."""
    found = []
    for desk in desks:
        due = bool(desk.touch.do) and desk.job is not None and (desk.touch.at is None or desk.touch.at <= now)
        job = desk.job.id if desk.job else ""
        until = desk.touch.at if desk.job is not None or desk.printer.down_reason else None
        found.append(Tile(desk.machine.id, desk.said, job, until, due, job in late))
    return tuple(found)


def touches(
    desks: Iterable[Desk], runs: Iterable[tuple[str, FloorRun]], planned: Iterable[Task], now: datetime
) -> tuple[Task, ...]:
    """What waits for hands: machines' next touches, what is to be taken out, what the plan wants next."""
    busy: set[str] = set()
    loaded: set[str] = set()
    found: list[Task] = []
    for desk in desks:
        href = f"/floor/machines/{desk.machine.id}"
        if desk.job is not None and desk.touch.do:
            busy.add(desk.job.id)
            at = desk.touch.at or now
            found.append(
                Task(
                    at,
                    max(at, now) + TOUCH,
                    desk.touch.label,
                    desk.machine.id,
                    href,
                    desk.job.id,
                    desk.job.id,
                )
            )
    for kind, run in runs:
        at = run.due_at or now
        loaded |= set(run.members)
        room = "dryers" if kind == "dryer run" else "ovens"
        found.append(
            Task(
                at,
                max(at, now) + TOUCH,
                "Take out of",
                run.machine,
                f"/floor/{room}/{run.machine}",
                ", ".join(run.members),
                None,
            )
        )
    for task in planned:
        if task.end <= now - timedelta(hours=4):
            continue
        if task.job is not None and (task.job in busy or task.doing != "Change over"):
            continue
        if task.job is None and any(member in task.detail for member in loaded):
            continue
        found.append(task)
    found.sort(key=lambda task: (task.start, task.machine))
    return tuple(task for task in found if task.start < now + AHEAD)[:MOST]
