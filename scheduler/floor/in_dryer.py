"""Rules of drying: what goes into a dryer together, and when it is dry."""

from __future__ import annotations

from datetime import timedelta

from scheduler.floor.commands import EmptyDryer, LoadDryer
from scheduler.floor.facts import Fact
from scheduler.floor.refusals import FloorRefused, Outdated
from scheduler.floor.scene import Scene
from scheduler.floor.spool_rules import by_code
from scheduler.floor.things import FloorSpool
from scheduler.matching.stock_checks import row_usable
from scheduler.model import Dryer, DryingRow
from scheduler.physics import whole_minutes


def load(scene: Scene, command: LoadDryer) -> Fact:
    """Spools go into a dryer at a setpoint."""
    dryer = scene.ground.dryers.get(command.dryer)
    if dryer is None:
        raise FloorRefused(f"there is no dryer {command.dryer}")
    ids = tuple(by_code(typed, scene.ground.spools) for typed in command.spools)
    scene.must(bool(ids), "no spool was named")
    scene.must(len(set(ids)) == len(ids), "a spool was named twice")
    going = scene.things.open_runs("dryer run", dryer.id)
    if dryer.kind == "batch":
        scene.must(not going, f"{dryer.id} is in use: {', '.join(run.id for run in going)}")
        scene.must(len(ids) <= dryer.slots, f"{dryer.id} holds {dryer.slots} spools, not {len(ids)}")
    else:
        inside = sum(len(run.members) for run in going)
        scene.must(len(ids) == 1, f"{dryer.id} takes spools one at a time: each has its own run")
        scene.must(inside < dryer.slots, f"{dryer.id} is full: {inside} of {dryer.slots} places")
        scene.must(
            command.temp_c == dryer.fixed_c,
            f"{dryer.id} always stands at {dryer.fixed_c} °C, not {command.temp_c:g} °C",
        )
    _oven_free(scene, dryer)
    scene.must(
        command.temp_c <= dryer.max_c, f"{dryer.id} bears {dryer.max_c:g} °C, not {command.temp_c:g} °C"
    )
    hours = 0.0
    for id in ids:
        hours = max(hours, _hours(scene, dryer, scene.things.spool(id), command.temp_c))
    warmup = dryer.warmup_min if dryer.kind == "batch" else 0
    due = scene.now + timedelta(minutes=warmup + whole_minutes(hours * 60))
    return scene.fact(
        "dryer loaded",
        ("dryer", dryer.id),
        [("dryer run", _run_id(scene, dryer.id)), *(("spool", id) for id in ids)],
        run=_run_id(scene, dryer.id),
        dryer=dryer.id,
        temp_c=command.temp_c,
        spools=list(ids),
        hours=hours,
        due_at=due.isoformat(),
        aired=scene.aired(ids),
    )


def _oven_free(scene: Scene, dryer: Dryer) -> None:
    for run in scene.things.open_runs("oven run", dryer.id):
        raise FloorRefused(f"{dryer.id} bakes parts now ({run.id})")


def _run_id(scene: Scene, machine: str) -> str:
    return f"{machine} {scene.asked.at:%Y-%m-%d %H:%M:%S} {scene.asked.key[:4]}"


def _hours(scene: Scene, dryer: Dryer, spool: FloorSpool, temp_c: float) -> float:
    """Hours that a spool needs at the setpoint; refused where it must not stand it."""
    stock = scene.ground.spools[spool.id]
    scene.must(spool.place == "store", f"spool {spool.id} is {_where(spool)}, not in the store")
    scene.must(spool.state != "empty", f"spool {spool.id} is empty")
    scene.must(
        temp_c <= stock.body_max_c,
        f"the body of spool {spool.id} bears {stock.body_max_c:g} °C; at {temp_c:g} °C it would soften",
    )
    usable = [
        row
        for row in _rows(scene, spool)
        if row.temp_c == temp_c and row_usable(row, dryer, stock.body_max_c)
    ]
    if not usable:
        known = ", ".join(
            f"{row.hours:g} h at {row.temp_c:g} °C{' in vacuum' if row.vacuum else ''}"
            for row in _rows(scene, spool)
        )
        raise FloorRefused(
            f"{stock.material} on spool {spool.id} has no recipe at {temp_c:g} °C for {dryer.id};"
            f" its recipes: {known or 'none, it needs no drying'}"
        )
    return min(row.hours for row in usable)


def _rows(scene: Scene, spool: FloorSpool) -> tuple[DryingRow, ...]:
    stock = scene.ground.spools[spool.id]
    if stock.drying is not None and spool.dryer_run is None:
        return stock.drying
    return scene.ground.materials[stock.material].drying


def _where(spool: FloorSpool) -> str:
    return f"in {spool.place_id}" if spool.place == "dryer" else f"on {spool.place_id}"


def empty(scene: Scene, command: EmptyDryer) -> Fact:
    """Spools come out: dry if they had their time, else as wet as they went in."""
    run = scene.things.get("dryer run", command.run)
    if run is None:
        raise FloorRefused(f"there is no dryer run {command.run}")
    run = scene.things.run("dryer run", command.run)
    if run.ended_at is not None:
        raise Outdated(f"{run.id} was emptied at {scene.clock(run.ended_at)} already")
    assert run.due_at is not None
    whole = scene.now >= run.due_at
    return scene.fact(
        "dryer emptied",
        ("dryer", run.machine),
        [("dryer run", run.id), *(("spool", id) for id in run.members)],
        run=run.id,
        dryer=run.machine,
        whole=whole,
        dried=list(run.members) if whole else [],
        short_min=max(0, (run.due_at - scene.now) // timedelta(minutes=1)),
        aired=[],
    )
