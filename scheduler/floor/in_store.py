"""Rules of stock, waiting jobs, machines out of use and shifts."""

from __future__ import annotations

from scheduler.floor.commands import (
    ClearSpool,
    FoundWet,
    HandOver,
    Hold,
    MachineDown,
    MachineUp,
    Quarantine,
    Release,
    SpoolEmpty,
    Weigh,
)
from scheduler.floor.facts import Fact
from scheduler.floor.on_machine import said
from scheduler.floor.refusals import Outdated
from scheduler.floor.scene import Scene
from scheduler.floor.spool_rules import by_code


def hold(scene: Scene, command: Hold) -> Fact:
    """A waiting job is kept back."""
    job, state = scene.job(command.job)
    if state.state != "waiting":
        raise Outdated(f"{job.id} can't be put on hold: it is {said(state)}")
    scene.must(bool(command.why.strip()), "a hold needs its reason")
    return scene.fact("job held", ("job", job.id), (), job=job.id, why=command.why.strip())


def release(scene: Scene, command: Release) -> Fact:
    """A held job may go on."""
    job, state = scene.job(command.job)
    if state.state != "held":
        raise Outdated(f"{job.id} is not on hold: it is {said(state)}")
    return scene.fact("job released", ("job", job.id), (), job=job.id)


def machine_down(scene: Scene, command: MachineDown) -> Fact:
    """A printer is out of use; what is on it stays until somebody says what became of it."""
    machine, printer = scene.printer(command.printer)
    scene.must(printer.down_reason is None, f"{machine.id} is out of use already: {printer.down_reason}")
    scene.must(bool(command.why.strip()), "say what is wrong with the machine")
    scene.must(
        command.until > scene.asked.at,
        f"it can't be expected back at {scene.clock(command.until)}: that has passed",
    )
    touches = [("job", printer.job)] if printer.job else []
    return scene.fact(
        "machine down",
        ("printer", machine.id),
        touches,
        printer=machine.id,
        why=command.why.strip(),
        until=command.until.replace(second=0, microsecond=0).isoformat(),
    )


def machine_up(scene: Scene, command: MachineUp) -> Fact:
    """A printer can be used again."""
    machine, printer = scene.printer(command.printer)
    if printer.down_reason is None:
        raise Outdated(f"{machine.id} is in use already")
    return scene.fact("machine up", ("printer", machine.id), (), printer=machine.id)


def weigh(scene: Scene, command: Weigh) -> Fact:
    """A spool was on the scale."""
    spool = scene.spool(by_code(command.spool, scene.ground.spools))
    scene.must(spool.state != "empty", f"spool {spool.id} is empty")
    net = command.gross_g - command.body_g
    scene.must(command.body_g >= 0, f"a body can't weigh {command.body_g:g} g")
    scene.must(net >= 0, f"{command.gross_g:g} g gross is less than the body's {command.body_g:g} g")
    scene.must(net <= 20_000, f"{net:g} g of filament is more than any spool here holds")
    return scene.fact(
        "spool weighed",
        ("spool", spool.id),
        (),
        spool=spool.id,
        gross_g=command.gross_g,
        body_g=command.body_g,
        grams=round(net, 1),
        believed_g=spool.grams,
        note=spool.note,
        aired=scene.aired([spool.id]),
    )


def spool_empty(scene: Scene, command: SpoolEmpty) -> Fact:
    """Nothing is left on a spool."""
    spool = scene.spool(by_code(command.spool, scene.ground.spools))
    scene.must(spool.state != "empty", f"spool {spool.id} is empty already")
    scene.must(spool.place != "dryer", f"spool {spool.id} is in {spool.place_id}; take it out there first")
    return scene.fact(
        "spool emptied",
        ("spool", spool.id),
        [("printer", spool.place_id)] if spool.place == "printer" and spool.place_id else [],
        spool=spool.id,
        believed_g=spool.grams,
        aired=scene.aired([spool.id]),
    )


def quarantine(scene: Scene, command: Quarantine) -> Fact:
    """A spool is put aside."""
    spool = scene.spool(by_code(command.spool, scene.ground.spools))
    scene.must(spool.state == "good", f"spool {spool.id} is {spool.state} already")
    scene.must(bool(command.why.strip()), "a quarantine needs its reason")
    return scene.fact(
        "spool quarantined",
        ("spool", spool.id),
        (),
        spool=spool.id,
        why=command.why.strip(),
        aired=scene.aired([spool.id]),
    )


def clear_spool(scene: Scene, command: ClearSpool) -> Fact:
    """A spool may be used again."""
    spool = scene.spool(by_code(command.spool, scene.ground.spools))
    scene.must(spool.state == "quarantined", f"spool {spool.id} is not in quarantine")
    return scene.fact(
        "spool cleared",
        ("spool", spool.id),
        (),
        spool=spool.id,
        wet=command.wet,
        aired=scene.aired([spool.id]),
    )


def found_wet(scene: Scene, command: FoundWet) -> Fact:
    """A spool that counted as dry is not."""
    spool = scene.spool(by_code(command.spool, scene.ground.spools))
    scene.must(spool.dried, f"spool {spool.id} does not count as dry anyway")
    scene.must(bool(command.why.strip()), "say what showed that it is wet")
    return scene.fact(
        "spool found wet",
        ("spool", spool.id),
        [("printer", spool.place_id)] if spool.place == "printer" and spool.place_id else [],
        spool=spool.id,
        why=command.why.strip(),
        aired=[],
    )


def hand_over(scene: Scene, command: HandOver) -> Fact:
    """Words from one shift to the next."""
    scene.must(bool(command.note.strip()), "nothing was written to hand over")
    return scene.fact("shift handed over", ("shop", scene.ground.site.name), (), note=command.note.strip())
