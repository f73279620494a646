"""The shop of this minute as it was reported: what is done has left, what has begun stands as it is.

Where :mod:`scheduler.planning.advance` assumes that a plan came true, this takes what people said,
and forecasts only the rest of what goes on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from scheduler.floor.apply import exposure_now, minute
from scheduler.floor.ground import Ground
from scheduler.floor.things import (
    ENDED,
    FloorJob,
    FloorPrinter,
    FloorRun,
    FloorSpool,
    Kind,
    Thing,
)
from scheduler.model import (
    Downtime,
    DryerRun,
    Head,
    Job,
    Mounted,
    OvenRun,
    Pin,
    Printer,
    Progress,
    Scenario,
    Spool,
    Step,
    UnderWay,
)
from scheduler.physics import decayed_c

#: A step whose forecast end has passed unreported is taken to need so long still, minutes.
OVERDUE_MIN = 5
MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Touched:
    """Everything that the floor has touched, by kind and id."""

    things: Mapping[tuple[Kind, str], Thing]

    def job(self, id: str) -> FloorJob | None:
        """A touched job."""
        found = self.things.get(("job", id))
        return found if isinstance(found, FloorJob) else None

    def printer(self, id: str) -> FloorPrinter | None:
        """A touched printer."""
        found = self.things.get(("printer", id))
        return found if isinstance(found, FloorPrinter) else None

    def spool(self, id: str) -> FloorSpool | None:
        """A touched spool."""
        found = self.things.get(("spool", id))
        return found if isinstance(found, FloorSpool) else None

    def runs(self, kind: Kind) -> tuple[FloorRun, ...]:
        """Touched runs of a kind."""
        return tuple(
            thing
            for (other, _), thing in self.things.items()
            if other == kind and isinstance(thing, FloorRun)
        )


def present(ground: Ground, touched: Touched, now: datetime) -> Scenario:
    """The shop at the minute after ``now``, so that all that was reported lies before it.

    Parameters
    ----------
    ground : Ground
        The shop as recorded.
    touched : Touched
        What the floor knows better.

    Returns
    -------
    Scenario
        Jobs that ended, are held, or wait for their inspection are not in it, unless another must
        share their lot; a printer out of use is down until it is expected back.
    """
    return _Present(ground, touched, minute(now) + MINUTE).scenario()


class _Present:
    def __init__(self, ground: Ground, touched: Touched, start: datetime) -> None:
        self.ground, self.touched, self.start = ground, touched, start
        self.oven_runs = {run.id: run for run in touched.runs("oven run") if run.ended_at is None}

    def scenario(self) -> Scenario:
        scenario = self.ground.scenario
        jobs = self.jobs()
        known = {job.id for job in jobs}
        return replace(
            scenario,
            site=replace(scenario.site, plan_start=self.start),
            printers=tuple(self.printer(printer) for printer in scenario.printers),
            spools=tuple(self.spool(spool) for spool in scenario.spools),
            jobs=jobs,
            under_way=self.under_way(known),
        )

    def jobs(self) -> tuple[Job, ...]:
        every = {job.id: job for job in self.ground.scenario.jobs}
        stands = {id: self.touched.job(id) for id in every}
        gone = {id for id, state in stands.items() if state and self._is_gone(state)}
        leads = {id: self._lead(every, stands, gone, job.same_lot_as) for id, job in every.items()}
        asked = {
            lead
            for id, lead in leads.items()
            if lead is not None and id not in gone and not self._has_begun(stands[id])
        }
        out = []
        for id, job in every.items():
            state = stands[id]
            if id in gone and (id not in asked or state is None or not state.feeds or state.state == "held"):
                continue
            lead = leads[id]
            dropped = lead in gone and (
                lead not in asked or not self._carries(stands[lead]) if lead else True
            )
            lead = None if lead is None or dropped else lead
            out.append(
                replace(job, same_lot_as=lead, progress=self.progress(state), pinned=self._pin(job, state))
            )
        return tuple(out)

    @staticmethod
    def _carries(state: FloorJob | None) -> bool:
        return state is None or (bool(state.feeds) and state.state != "held")

    @staticmethod
    def _pin(job: Job, state: FloorJob | None) -> Pin | None:
        return job.pinned if state is None or state.state == "waiting" else None

    @staticmethod
    def _is_gone(state: FloorJob) -> bool:
        return state.state in (*ENDED, "held", "to inspect", "rework")

    @staticmethod
    def _has_begun(state: FloorJob | None) -> bool:
        return state is not None and state.state not in ("waiting", "held")

    @staticmethod
    def _lead(
        every: Mapping[str, Job], stands: Mapping[str, FloorJob | None], gone: set[str], lead: str | None
    ) -> str | None:
        """The job that tells the lot: what was given up is stood for by the job that prints it again."""
        seen: set[str] = set()
        while lead is not None and lead in every and lead not in seen:
            seen.add(lead)
            state = stands[lead]
            if state is None or state.state not in ("failed", "scrapped"):
                return lead
            lead = state.replaced_by
        return None

    def progress(self, state: FloorJob | None) -> Progress | None:
        """The steps that have begun, each as reported or forecast."""
        if state is None or state.printer is None or state.pulled_at is None or state.lengths is None:
            return None
        if state.state in ("waiting", "held"):
            return None
        lengths = state.lengths
        steps: list[Step] = []
        end = self._until(state.pulled_at, lengths.changeover_min, state.heated_at)
        steps.append(Step("changeover", state.pulled_at, end))
        if state.heated_at is not None:
            end = self._until(state.heated_at, lengths.preheat_min, state.started_at)
            steps.append(Step("preheat", state.heated_at, end))
        if state.started_at is not None:
            steps += self._printing(state)
        if state.unloaded_at is not None:
            took = min(lengths.unload_min, (state.unloaded_at - steps[-1].end) // MINUTE)
            steps.append(Step("unload", state.unloaded_at - max(0, took) * MINUTE, state.unloaded_at))
        begun = [step for step in steps if step.start < self.start]
        return Progress(state.printer, state.feeds, tuple(begun))

    def _printing(self, state: FloorJob) -> list[Step]:
        assert state.started_at is not None and state.lengths is not None
        lengths = state.lengths
        watched = state.started_at + lengths.start_min * MINUTE
        if state.ended_at is not None:
            watched = min(watched, state.ended_at)
        steps = [Step("start", state.started_at, watched)]
        end = self._until(watched, lengths.print_min, state.ended_at)
        steps.append(Step("print", watched, end))
        if state.ended_at is not None:
            cool = state.ended_at + lengths.cooldown_min * MINUTE
            if state.unloaded_at is not None:
                cool = min(cool, state.unloaded_at)
            steps.append(Step("cooldown", state.ended_at, cool))
        return steps

    def _until(self, start: datetime, length_min: int, reported: datetime | None) -> datetime:
        """A step's end: reported, else forecast, and still to come."""
        if reported is not None:
            return reported
        return max(
            start + length_min * MINUTE,
            self.start + OVERDUE_MIN * MINUTE if self._over(start, length_min) else start,
        )

    def _over(self, start: datetime, length_min: int) -> bool:
        return start + length_min * MINUTE < self.start

    def printer(self, printer: Printer) -> Printer:
        """A machine with what is on its heads, how warm it is, and when it can be used."""
        state = self.touched.printer(printer.id)
        if state is None:
            base = self.ground.site.plan_start
            minutes = max(0, (self.start - base) // MINUTE)
            return replace(printer, chamber_now_c=self._faded(printer, printer.chamber_now_c, minutes))
        downtime = printer.downtime
        if state.down_reason is not None and state.down_until is not None:
            until = max(state.down_until, self.start + OVERDUE_MIN * MINUTE)
            downtime = (*downtime, Downtime(state.down_since or self.start, until, state.down_reason))
        free_at = printer.free_at
        if state.to_clear:
            cleared = max(state.clear_from or self.start, self.start)
            free_at = max(free_at, cleared + self.ground.site.unload_min * MINUTE)
        return replace(
            printer,
            downtime=downtime,
            free_at=free_at,
            chamber_now_c=self._chamber_c(printer, state),
            heads=tuple(self._head(head, state) for head in printer.heads),
        )

    def _head(self, head: Head, state: FloorPrinter) -> Head:
        for on in state.heads:
            if on.head == head.id:
                spool = on.spool if on.spool in self.ground.spools else None
                material = on.material if on.material in self.ground.materials else None
                nozzle = on.nozzle if any(each.id == on.nozzle for each in head.nozzles) else None
                return replace(head, mounted=Mounted(spool, material, nozzle))
        return head

    def _chamber_c(self, printer: Printer, state: FloorPrinter) -> float:
        if printer.chamber_max_c is None:
            return printer.chamber_now_c
        job = self.touched.job(state.job) if state.job else None
        if job is not None and job.state in ("heating", "printing"):
            return job.chamber_c
        minutes = 0 if state.chamber_at is None else max(0, (self.start - state.chamber_at) // MINUTE)
        return self._faded(printer, state.chamber_c, minutes)

    def _faded(self, printer: Printer, temp_c: float, minutes: int) -> float:
        if printer.chamber_max_c is None:
            return temp_c
        return round(decayed_c(temp_c, minutes, printer.cool_tau_min, self.ground.site.ambient_c), 6)

    def spool(self, spool: Spool) -> Spool:
        """A spool with what is left on it and how dry it is."""
        state = self.touched.spool(spool.id)
        if state is None:
            fresh = self.ground.fresh("spool", spool.id)
            assert isinstance(fresh, FloorSpool)
            state = fresh
        mounted = state.place == "printer" and state.place_id is not None
        printer = self.touched.printer(state.place_id) if mounted and state.place_id else None
        counts = self.ground.counts(state, printer)
        exposed = exposure_now(state, counts, self.start)
        usable = state.state == "good" or (mounted and printer is not None and printer.job is not None)
        return replace(
            spool,
            grams=state.grams if usable else 0.0,
            dried=state.dried,
            exposed_min=exposed if state.dried else 0,
            drying=None if state.dryer_run is not None else spool.drying,
        )

    def under_way(self, known: set[str]) -> UnderWay:
        """Runs that go on; one that should have ended is taken to end soon."""
        dryers = tuple(
            DryerRun(run.id, run.machine, run.temp_c, run.started_at, self._run_end(run), run.members)
            for run in self.touched.runs("dryer run")
            if run.ended_at is None and run.started_at is not None and run.members
            and run.machine in self.ground.dryers
        )  # fmt: skip
        ovens = tuple(
            OvenRun(
                run.id, run.machine, run.temp_c, run.started_at, self._run_end(run),
                tuple(id for id in run.members if id in known),
            )
            for run in self.touched.runs("oven run")
            if run.ended_at is None and run.started_at is not None and known.intersection(run.members)
        )  # fmt: skip
        return UnderWay(dryers, ovens)

    def _run_end(self, run: FloorRun) -> datetime:
        assert run.due_at is not None
        return max(run.due_at, self.start + MINUTE)
