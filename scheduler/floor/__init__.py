"""A job's life on the floor: commands in, facts out, and the shop as it was reported."""

from scheduler.floor.apply import apply, exposure_now, minute
from scheduler.floor.at_hand import Things
from scheduler.floor.commands import CAUSES, Asked, Command
from scheduler.floor.decide import decide
from scheduler.floor.facts import Fact
from scheduler.floor.ground import Ground
from scheduler.floor.on_machine import printed_again
from scheduler.floor.opening import opened
from scheduler.floor.present import Touched, present
from scheduler.floor.refusals import FloorRefused, Objected, Outdated, Taken
from scheduler.floor.spool_rules import short_code
from scheduler.floor.things import (
    CLASSES,
    ENDED,
    ON_MACHINE,
    FloorJob,
    FloorPrinter,
    FloorRun,
    FloorSpool,
    Kind,
    Thing,
    from_data,
    to_data,
)

__all__ = [
    "CAUSES",
    "CLASSES",
    "ENDED",
    "ON_MACHINE",
    "Asked",
    "Command",
    "Fact",
    "FloorJob",
    "FloorPrinter",
    "FloorRefused",
    "FloorRun",
    "FloorSpool",
    "Ground",
    "Kind",
    "Objected",
    "Outdated",
    "Taken",
    "Thing",
    "Things",
    "Touched",
    "apply",
    "decide",
    "exposure_now",
    "from_data",
    "minute",
    "opened",
    "present",
    "printed_again",
    "short_code",
    "to_data",
]
