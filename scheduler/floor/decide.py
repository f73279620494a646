"""From a wish to a fact, or to a reason why not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scheduler.floor import in_dryer, in_oven, in_store, on_machine
from scheduler.floor.at_hand import Things
from scheduler.floor.commands import (
    Asked,
    ChamberOn,
    ClearPlate,
    ClearSpool,
    Command,
    EmptyDryer,
    EmptyOven,
    Fail,
    FirstLayer,
    FoundWet,
    HandOver,
    Hold,
    Inspect,
    LetGo,
    LoadDryer,
    LoadOven,
    MachineDown,
    MachineUp,
    MountSpool,
    PrintEnded,
    Pull,
    Quarantine,
    Release,
    SpoolEmpty,
    TakeOff,
    Weigh,
)
from scheduler.floor.facts import Fact
from scheduler.floor.ground import Ground
from scheduler.floor.scene import Scene

_RULES: dict[type[Any], Callable[[Scene, Any], Fact]] = {
    Pull: on_machine.pull,
    LetGo: on_machine.let_go,
    MountSpool: on_machine.mount,
    ChamberOn: on_machine.chamber_on,
    FirstLayer: on_machine.first_layer,
    PrintEnded: on_machine.print_ended,
    TakeOff: on_machine.take_off,
    Fail: on_machine.fail,
    ClearPlate: on_machine.clear_plate,
    LoadDryer: in_dryer.load,
    EmptyDryer: in_dryer.empty,
    LoadOven: in_oven.load,
    EmptyOven: in_oven.empty,
    Inspect: in_oven.inspect,
    Hold: in_store.hold,
    Release: in_store.release,
    MachineDown: in_store.machine_down,
    MachineUp: in_store.machine_up,
    Weigh: in_store.weigh,
    SpoolEmpty: in_store.spool_empty,
    Quarantine: in_store.quarantine,
    ClearSpool: in_store.clear_spool,
    FoundWet: in_store.found_wet,
    HandOver: in_store.hand_over,
}


def decide(ground: Ground, things: Things, asked: Asked, command: Command) -> Fact:
    """The fact that a command becomes; nothing is changed yet.

    Raises
    ------
    FloorRefused
        If something speaks against it; :class:`~scheduler.floor.refusals.Objected` where somebody
        with the right to it may let it pass.
    """
    scene = Scene(ground, things, asked)
    scene.expect_seen()
    return _RULES[type(command)](scene, command)
