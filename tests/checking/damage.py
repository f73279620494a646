"""Random damage to a plan that leaves its ids and step kinds readable."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

from scheduler.model import Forced, Plan, PlannedJob, Reason, Scenario, Unplaced

SHIFTS_MIN = (-900, -240, -30, -3, -1, 1, 3, 30, 240, 900)
RULES = ("hands", "unattended", "dryness", "spools", "downtime", "pinned", "preheat")


class Damage:
    """One way after another to spoil a plan."""

    def __init__(self, dice: random.Random, scenario: Scenario, plan: Plan) -> None:
        self.dice, self.scenario, self.plan = dice, scenario, plan
        self.ways: tuple[Callable[[], None], ...] = (
            self.move_job,
            self.move_job,
            self.move_and_count,
            self.stretch_step,
            self.shift_step,
            self.change_spool,
            self.change_seat,
            self.change_printer,
            self.change_chamber,
            self.drop_job,
            self.leave_out,
            self.move_run,
            self.move_run,
            self.resize_run,
            self.change_run,
            self.drop_run,
            self.copy_run,
            self.change_figure,
            self.excuse,
        )

    def spoil(self) -> Plan:
        """The plan after one to three ways."""
        for _ in range(self.dice.choice((1, 1, 1, 2, 3))):
            self.dice.choice(self.ways)()
        return self.plan

    def _by(self) -> timedelta:
        return timedelta(minutes=self.dice.choice(SHIFTS_MIN))

    def _change_job(self, change: Callable[[PlannedJob], PlannedJob]) -> None:
        if self.plan.jobs:
            one = self.dice.choice(self.plan.jobs)
            jobs = tuple(change(each) if each is one else each for each in self.plan.jobs)
            self.plan = replace(self.plan, jobs=jobs)

    def _begun(self, one: PlannedJob) -> int:
        progress = next(job.progress for job in self.scenario.jobs if job.id == one.job)
        return 0 if progress is None else len(progress.steps)

    def _moved(self, one: PlannedJob, by: timedelta) -> PlannedJob:
        begun = self._begun(one)
        steps = tuple(
            replace(step, start=step.start + by, end=step.end + by) if number >= begun else step
            for number, step in enumerate(one.steps)
        )
        return replace(one, steps=steps)

    def move_job(self) -> None:
        """All that has not begun, earlier or later."""
        by = self._by()
        self._change_job(lambda one: self._moved(one, by))

    def move_and_count(self) -> None:
        """The same, with an end that follows."""
        by = self._by()
        self._change_job(lambda one: replace(self._moved(one, by), done=one.done + by))

    def stretch_step(self) -> None:
        """One step longer or shorter."""
        self._edit_step(timedelta(), self._by())

    def shift_step(self) -> None:
        """One step earlier or later."""
        by = self._by()
        self._edit_step(by, by)

    def _edit_step(self, start: timedelta, end: timedelta) -> None:
        number = self.dice.randrange(6)

        def change(one: PlannedJob) -> PlannedJob:
            steps = list(one.steps)
            steps[number] = replace(
                steps[number], start=steps[number].start + start, end=steps[number].end + end
            )
            return replace(one, steps=tuple(steps))

        self._change_job(change)

    def change_spool(self) -> None:
        """Another spool of the same material, if there is one."""

        def change(one: PlannedJob) -> PlannedJob:
            number = self.dice.randrange(len(one.feeds))
            was = next(spool for spool in self.scenario.spools if spool.id == one.feeds[number].spool)
            alike = [spool.id for spool in self.scenario.spools if spool.material == was.material]
            feeds = list(one.feeds)
            feeds[number] = replace(feeds[number], spool=self.dice.choice(alike))
            return replace(one, feeds=tuple(feeds))

        self._change_job(change)

    def change_seat(self) -> None:
        """Another head or nozzle of the same printer."""

        def change(one: PlannedJob) -> PlannedJob:
            printer = next(p for p in self.scenario.printers if p.id == one.printer)
            seats = []
            for head, choice in zip(printer.heads[::-1], one.feeds, strict=False):
                seats.append(replace(choice, head=head.id, nozzle=self.dice.choice(head.nozzles).id))
            return replace(one, feeds=tuple(seats)) if len(seats) == len(one.feeds) else one

        self._change_job(change)

    def change_printer(self) -> None:
        """Another printer, on whatever heads it has."""
        printer = self.dice.choice(self.scenario.printers)

        def change(one: PlannedJob) -> PlannedJob:
            if len(printer.heads) < len(one.feeds) or self._begun(one):
                return one
            feeds = tuple(
                replace(choice, head=head.id, nozzle=head.nozzles[0].id)
                for head, choice in zip(printer.heads, one.feeds, strict=False)
            )
            return replace(one, printer=printer.id, feeds=feeds)

        self._change_job(change)

    def change_chamber(self) -> None:
        """A setpoint of its own."""
        self._change_job(lambda one: replace(one, chamber_c=one.chamber_c + self.dice.choice((-1, 0.5, 20))))

    def drop_job(self) -> None:
        """A job that nobody speaks of."""
        if self.plan.jobs:
            gone = self.dice.choice(self.plan.jobs)
            self.plan = replace(self.plan, jobs=tuple(one for one in self.plan.jobs if one is not gone))

    def leave_out(self) -> None:
        """A job without a place, for some reason."""
        if self.plan.jobs:
            gone = self.dice.choice(self.plan.jobs)
            check = self.dice.choice(("stock", "horizon", "pinned", "bed"))
            reason = Reason(check, None, None, None, None, None, "so it is said")
            self.drop_job()
            self.plan = replace(self.plan, unplaced=(*self.plan.unplaced, Unplaced(gone.job, (reason,))))

    def _change_run(self, change: Callable[[Any], tuple[Any, ...]]) -> None:
        name = self.dice.choice(("dryer_runs", "dryer_runs", "oven_runs"))
        runs = getattr(self.plan, name)
        if runs:
            one = self.dice.choice(runs)
            self.plan = replace(
                self.plan,
                **{name: tuple(new for run in runs for new in (change(run) if run is one else (run,)))},
            )

    def move_run(self) -> None:
        """A run earlier or later."""
        by = self._by()
        self._change_run(lambda run: (replace(run, start=run.start + by, end=run.end + by),))

    def resize_run(self) -> None:
        """A run longer or shorter."""
        by = self._by()
        self._change_run(lambda run: (replace(run, end=max(run.start, run.end + by)),))

    def change_run(self) -> None:
        """A run in another machine, at another heat, or with something more in it."""
        dice, scenario = self.dice, self.scenario

        def change(run: Any) -> tuple[Any, ...]:
            what = dice.randrange(3)
            drying = hasattr(run, "dryer")
            if what == 0:
                machine = dice.choice(scenario.dryers if drying else scenario.ovens).id
                return (replace(run, **{"dryer" if drying else "oven": machine}),)
            if what == 1:
                return (replace(run, **{"setpoint_c" if drying else "temp_c": dice.choice((50, 80, 120))}),)
            more = dice.choice(scenario.spools if drying else scenario.jobs).id
            name = "spools" if drying else "jobs"
            return (replace(run, **{name: (*getattr(run, name), more)}),)

        self._change_run(change)

    def drop_run(self) -> None:
        """A run that does not take place."""
        self._change_run(lambda run: ())

    def copy_run(self) -> None:
        """A run twice, at the same time or later."""
        by, count = self._by(), len(self.plan.dryer_runs) + len(self.plan.oven_runs)
        self._change_run(
            lambda run: (run, replace(run, id=f"{run.id}+{count}", start=run.start + by, end=run.end + by))
        )

    def change_figure(self) -> None:
        """A figure that is not so."""
        name = self.dice.choice(("late_cost", "attended_min", "preheat_min", "lower_bound"))
        was = getattr(self.plan, name) or 0
        self.plan = replace(self.plan, **{name: was + self.dice.choice((-1, 0.004, 0.006, 1))})

    def excuse(self) -> None:
        """An excuse that the planner did not make."""
        if self.plan.jobs:
            told = Forced(self.dice.choice(self.plan.jobs).job, self.dice.choice(RULES), "so it is said")
            self.plan = replace(self.plan, forced=(*self.plan.forced, told))
