"""People at work in a shop that only exists in a test: they pull, mount, heat, fail, dry, weigh and undo."""

from __future__ import annotations

import random
from collections import Counter
from datetime import datetime, timedelta

from scheduler.floor import ENDED, Asked, Command, FloorPrinter, FloorRefused, Kind, Objected, Touched
from scheduler.floor import commands as wish
from scheduler.model import PlannedJob
from scheduler.office.floor import FloorDesk
from scheduler.store import Record


class Hands:
    """A crew that mostly does what the plan says and now and then does not.

    Parameters
    ----------
    rough : float
        Share of touches that are mishaps or nonsense.
    """

    def __init__(self, record: Record, rng: random.Random, start: datetime, rough: float = 0.15) -> None:
        self.now = start
        self.desk = FloorDesk(record, lambda: self.now)
        self.record = record
        self.rng = rng
        self.rough = rough
        self.keys = 0
        self.taken: Counter[str] = Counter()
        self.refused: Counter[str] = Counter()
        self.events: list[int] = []

    def send(self, command: Command, override: bool = False) -> bool:
        """One touch, one time in six sent twice; whether it was taken."""
        self.keys += 1
        asked = Asked(
            f"key-{self.keys}",
            self.rng.choice(("Ada", "Ben", "Cem")),
            self.now,
            "seen and judged" if override else "",
            override,
        )
        try:
            done = self.desk.take(asked, command)
        except Objected:
            self.refused["objected"] += 1
            return self.send(command, True) if not override and self.rng.random() < 0.5 else False
        except FloorRefused as refusal:
            self.refused[type(refusal).__name__] += 1
            return False
        self.taken[done.kind] += 1
        self.events.append(done.event)
        if self.rng.random() < 1 / 6:
            again = self.desk.take(asked, command)
            assert again.again and again.event == done.event
        return True

    def work(self, minutes: int) -> None:
        """So many minutes of a day, a touch every few of them."""
        end = self.now + timedelta(minutes=minutes)
        while self.now < end:
            self.now += timedelta(minutes=self.rng.randrange(1, 25), seconds=self.rng.randrange(60))
            standing = self.desk.standing()
            touched = standing[1] if standing else Touched({})
            if self.rng.random() < self.rough:
                self._mishap(touched)
            else:
                self._next(touched)

    def _next(self, touched: Touched) -> None:
        """What stands at the machines goes on; what is due is pulled, loaded, emptied."""
        with self.desk.looking() as (_, ground, _things):
            planned = list(ground.plan.jobs) if ground.plan else []
            runs = list(ground.plan.dryer_runs) if ground.plan else []
        self.rng.shuffle(planned)
        for job in planned:
            if self._go_on(job, touched):
                break
        emptying: tuple[tuple[Kind, type[wish.EmptyDryer] | type[wish.EmptyOven]], ...] = (
            ("dryer run", wish.EmptyDryer),
            ("oven run", wish.EmptyOven),
        )
        for kind, wanted in emptying:
            for run in touched.runs(kind):
                if run.ended_at is None and run.due_at and run.due_at <= self.now:
                    self.send(wanted(run.id))
        for run in runs:
            if abs(run.start - self.now) < timedelta(minutes=30):
                self.send(wish.LoadDryer(run.dryer, run.setpoint_c, run.spools))

    def _go_on(self, planned: PlannedJob, touched: Touched) -> bool:
        state = touched.job(planned.job)
        name = state.state if state else "waiting"
        if name == "waiting":
            if planned.steps[0].start > self.now + timedelta(minutes=40):
                return False
            return self.send(wish.Pull(planned.job, planned.printer))
        assert state is not None
        if name == "taken":
            for feed, on in enumerate(state.mounted):
                if not on:
                    return self.send(wish.MountSpool(planned.job, feed, state.feeds[feed].spool))
            return self.send(wish.ChamberOn(planned.job))
        if name == "heating":
            return self.send(wish.FirstLayer(planned.job))
        if name == "printing" and state.started_at and state.lengths:
            ends = state.started_at + timedelta(minutes=state.lengths.start_min + state.lengths.print_min)
            if self.now < ends and self.rng.random() < 0.9:
                return False
            back = self.now - timedelta(minutes=self.rng.randrange(0, 30))
            return self.send(wish.PrintEnded(planned.job, max(back, state.started_at)))
        if name == "cooling":
            return self.send(wish.TakeOff(planned.job))
        if name == "off":
            with self.desk.looking() as (_, ground, _things):
                ovens = [oven.id for oven in ground.scenario.ovens]
            return bool(ovens) and self.send(wish.LoadOven(self.rng.choice(ovens), (planned.job,)))
        if name == "to inspect":
            with self.desk.looking() as (_, ground, _things):
                quantity = ground.jobs[planned.job].quantity
            return self.send(wish.Inspect(planned.job, "pass", quantity))
        return False

    def _mishap(self, touched: Touched) -> None:
        rng = self.rng
        with self.desk.looking() as (_, ground, _things):
            jobs, printers = list(ground.jobs.values()), list(ground.printers)
            spools, dryers = list(ground.spools), list(ground.scenario.dryers)
        job, printer, spool = rng.choice(jobs), rng.choice(printers), rng.choice(spools)
        going = [each for each in jobs if (state := touched.job(each.id)) and state.state not in ENDED]
        if going and rng.random() < 0.6:
            job = rng.choice(going)
        later = self.now + timedelta(minutes=rng.randrange(30, 900))
        mishaps: list[Command] = [
            wish.Pull(job.id, printer),
            wish.LetGo(job.id),
            wish.MountSpool(job.id, 0, spool),
            *[wish.Fail(job.id, "came off the plate", rng.randrange(0, job.quantity), rng.random() < 0.8)]
            * 3,
            wish.Hold(job.id, "the drawing is being changed"),
            wish.Release(job.id),
            wish.MachineDown(printer, "fan stands still", later),
            wish.MachineUp(printer),
            wish.Weigh(spool, rng.randrange(200, 1500), 200.0),
            wish.SpoolEmpty(spool),
            wish.Quarantine(spool, "label torn"),
            wish.ClearSpool(spool, rng.random() < 0.5),
            wish.FoundWet(spool, "it hissed"),
            wish.Inspect(job.id, rng.choice(("pass", "scrap", "rework")), 1, "warped", rng.random() < 0.5),
            wish.HandOver("all quiet"),
            wish.FirstLayer(job.id),
            wish.PrintEnded(job.id),
            wish.TakeOff(job.id),
        ]
        mishaps += [wish.ClearPlate(each) for each in printers]
        if self.events:
            mishaps += [wish.Undo(self.events[-1])] * 3
        if dryers:
            mishaps.append(wish.LoadDryer(rng.choice(dryers).id, 60.0, (spool,)))
        self.send(rng.choice(mishaps))


def on_two_machines(touched: Touched) -> list[str]:
    """Jobs that are on more than one machine, or on one that does not know of them."""
    seen: Counter[str] = Counter()
    wrong = []
    for (_, id), thing in touched.things.items():
        if isinstance(thing, FloorPrinter) and thing.job:
            seen[thing.job] += 1
            state = touched.job(thing.job)
            if state is None or state.printer != id:
                wrong.append(f"{id} has {thing.job}, which is on {state.printer if state else None}")
    return wrong + [f"{job} is on {count} machines" for job, count in seen.items() if count > 1]
