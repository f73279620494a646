"""The shop's concepts as frozen values, and the files that carry them."""

from scheduler.model.common import (
    ATTENDED_STEPS,
    PRINTER_STEPS,
    Downtime,
    DryerRun,
    FeedChoice,
    OvenRun,
    Span,
    Step,
    StepKind,
)
from scheduler.model.dryers import Dryer, DryerKind, Oven
from scheduler.model.jobs import Feed, Job, Pin, Progress
from scheduler.model.materials import Anneal, DryingRow, Filler, Material
from scheduler.model.plan import Figure, Forced, Plan, PlannedJob, Reason, Unplaced
from scheduler.model.printers import Head, Mounted, Nozzle, Printer
from scheduler.model.scenario import Scenario, UnderWay
from scheduler.model.site import Purge, Shift, Site
from scheduler.model.spools import Spool

__all__ = [
    "ATTENDED_STEPS",
    "PRINTER_STEPS",
    "Anneal",
    "Downtime",
    "Dryer",
    "DryerKind",
    "DryerRun",
    "DryingRow",
    "Feed",
    "FeedChoice",
    "Figure",
    "Filler",
    "Forced",
    "Head",
    "Job",
    "Material",
    "Mounted",
    "Nozzle",
    "Oven",
    "OvenRun",
    "Pin",
    "Plan",
    "PlannedJob",
    "Printer",
    "Progress",
    "Purge",
    "Reason",
    "Scenario",
    "Shift",
    "Site",
    "Span",
    "Spool",
    "Step",
    "StepKind",
    "UnderWay",
    "Unplaced",
]
