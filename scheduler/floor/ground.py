"""What the floor stands on: the shop as recorded, and the plan that the floor works to."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cached_property

from scheduler.floor.things import (
    FloorJob,
    FloorPrinter,
    FloorSpool,
    Kind,
    Lengths,
    OnHead,
    Thing,
)
from scheduler.matching import Together
from scheduler.model import (
    Dryer,
    DryerRun,
    FeedChoice,
    Job,
    Material,
    Oven,
    OvenRun,
    Plan,
    PlannedJob,
    Printer,
    Scenario,
    Site,
    Spool,
)
from scheduler.physics import decayed_c, preheat_minutes, whole_minutes


@dataclass(frozen=True)
class Ground:
    """The recorded shop by id.

    Parameters
    ----------
    scenario : Scenario
        As recorded, of its own ``plan_start``.
    plan : Plan or None
        The published one.
    """

    scenario: Scenario
    plan: Plan | None = None
    plan_number: int | None = None
    memo: dict[object, object] = field(default_factory=dict, compare=False, repr=False)

    @property
    def site(self) -> Site:
        return self.scenario.site

    @cached_property
    def jobs(self) -> dict[str, Job]:
        return {job.id: job for job in self.scenario.jobs}

    @cached_property
    def printers(self) -> dict[str, Printer]:
        return {printer.id: printer for printer in self.scenario.printers}

    @cached_property
    def materials(self) -> dict[str, Material]:
        return {material.id: material for material in self.scenario.materials}

    @cached_property
    def spools(self) -> dict[str, Spool]:
        return {spool.id: spool for spool in self.scenario.spools}

    @cached_property
    def dryers(self) -> dict[str, Dryer]:
        return {dryer.id: dryer for dryer in self.scenario.dryers}

    @cached_property
    def ovens(self) -> dict[str, Oven]:
        return {oven.id: oven for oven in self.scenario.ovens}

    @cached_property
    def planned(self) -> dict[str, PlannedJob]:
        """The published plan's jobs by id."""
        return {planned.job: planned for planned in self.plan.jobs} if self.plan else {}

    @cached_property
    def planned_dryer_runs(self) -> dict[str, DryerRun]:
        return {run.id: run for run in self.plan.dryer_runs} if self.plan else {}

    @cached_property
    def planned_oven_run(self) -> dict[str, OvenRun]:
        """The published plan's oven run of each job that it anneals."""
        runs = self.plan.oven_runs if self.plan else ()
        return {job: run for run in runs for job in run.jobs}

    def together(self, job: Job) -> Together:
        """What the job's materials share."""
        key = tuple(feed.material for feed in job.feeds)
        found = self.memo.get(key)
        if found is None:
            found = self.memo[key] = Together.of(tuple(self.materials[name] for name in key))
        assert isinstance(found, Together)
        return found

    def counts(self, spool: FloorSpool, printer: FloorPrinter | None) -> bool:
        """Whether the air where a spool is now counts as exposure."""
        material = self.materials[self.spools[spool.id].material] if spool.id in self.spools else None
        if material is None or not material.drying or spool.place == "dryer":
            return False
        if spool.place == "printer" and printer is not None:
            on = next((head.head for head in printer.heads if head.spool == spool.id), None)
            heads = self.printers[printer.id].heads if printer.id in self.printers else ()
            return not any(head.dry_feed for head in heads if head.id == on)
        return not self.site.dry_storage

    def fresh(self, kind: Kind, id: str) -> Thing | None:
        """What the record says of a thing that the floor has not touched; ``None`` if it has none such."""
        if kind == "job":
            return FloorJob(id) if id in self.jobs else None
        if kind == "spool" and id in self.spools:
            spool = self.spools[id]
            return FloorSpool(
                id,
                grams=spool.grams,
                dried=spool.dried,
                exposed_min=spool.exposed_min,
                counted_at=max(self.site.plan_start, spool.available_from),
            )
        if kind == "printer" and id in self.printers:
            printer = self.printers[id]
            return FloorPrinter(
                id,
                chamber_c=printer.chamber_now_c,
                chamber_at=self.site.plan_start,
                heads=tuple(
                    OnHead(head.id, head.mounted.spool, head.mounted.material, head.mounted.nozzle)
                    for head in printer.heads
                ),
            )
        return None

    def lengths(
        self, job: Job, printer: FloorPrinter, feeds: tuple[FeedChoice, ...], now: datetime
    ) -> Lengths:
        """How long each printer step of a job takes from now on, minutes, by the plan's own formulas."""
        machine = self.printers[printer.id]
        together = self.together(job)
        changeover = self._changeover_min(job, printer, feeds)
        begins = now + timedelta(minutes=changeover)
        return Lengths(
            changeover_min=changeover,
            preheat_min=preheat_minutes(
                self.chamber_c(printer, begins),
                together.setpoint_c(machine, self.site.ambient_c),
                together.heating_window.hi,
                together.soak_min,
                machine,
                self.site.ambient_c,
            ),
            start_min=self.site.start_min,
            print_min=whole_minutes(job.print_min * machine.speed_factor),
            cooldown_min=together.cooldown(machine, self.site.ambient_c).minutes,
            unload_min=self.site.unload_min,
        )

    def chamber_c(self, printer: FloorPrinter, at: datetime) -> float:
        """Temperature of an idle chamber, °C."""
        machine = self.printers[printer.id]
        if machine.chamber_max_c is None:
            return self.site.ambient_c
        if printer.chamber_at is None:
            return printer.chamber_c
        minutes = max(0.0, (at - printer.chamber_at) / timedelta(minutes=1))
        return decayed_c(printer.chamber_c, minutes, machine.cool_tau_min, self.site.ambient_c)

    def _changeover_min(self, job: Job, printer: FloorPrinter, feeds: tuple[FeedChoice, ...]) -> int:
        site = self.site
        minutes = site.plate_min
        for feed, choice in zip(job.feeds, feeds, strict=True):
            last = next((on for on in printer.heads if on.head == choice.head), None)
            if last is None:
                continue
            if last.spool != choice.spool:
                minutes += site.spool_swap_min
            if last.material is not None and last.material != feed.material:
                minutes += self._purges.get((last.material, feed.material), site.purge_min)
            if last.nozzle != choice.nozzle:
                minutes += site.nozzle_swap_min
        return minutes

    @cached_property
    def _purges(self) -> dict[tuple[str, str], int]:
        return {(purge.source, purge.target): purge.minutes for purge in self.site.purges}
