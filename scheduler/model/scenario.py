"""Everything that the planner is told."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.model.common import DryerRun, OvenRun
from scheduler.model.dryers import Dryer, Oven
from scheduler.model.jobs import Job
from scheduler.model.materials import Material
from scheduler.model.printers import Printer
from scheduler.model.site import Shift, Site
from scheduler.model.spools import Spool

SCENARIO_SCHEMA = "soakline.scenario/1"


@dataclass(frozen=True, slots=True)
class UnderWay:
    """Runs begun before ``plan_start``, actual or forecast."""

    dryer_runs: tuple[DryerRun, ...]
    oven_runs: tuple[OvenRun, ...]


@dataclass(frozen=True, slots=True)
class Scenario:
    """A shop at one instant: fleet, people, stock, work asked for and work begun."""

    site: Site
    shifts: tuple[Shift, ...]
    materials: tuple[Material, ...]
    printers: tuple[Printer, ...]
    dryers: tuple[Dryer, ...]
    ovens: tuple[Oven, ...]
    spools: tuple[Spool, ...]
    jobs: tuple[Job, ...]
    under_way: UnderWay
