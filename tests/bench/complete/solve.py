"""Write the model down, let the solver work, and read the plan off its values."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from datetime import datetime

from ortools.sat.python import cp_model

from scheduler.checking import costs
from scheduler.model import (
    PRINTER_STEPS,
    DryerRun,
    FeedChoice,
    OvenRun,
    Plan,
    PlannedJob,
    Reason,
    Scenario,
    Step,
    Unplaced,
)
from scheduler.planning.construct import Base
from scheduler.planning.kernel.tables import NEVER
from scheduler.planning.problem import make_task
from scheduler.planning.result import Draft
from tests.bench.complete.bakers import Anneals, Dryings
from tests.bench.complete.heads import bind_changeovers, bind_preheats
from tests.bench.complete.hint import give_hint
from tests.bench.complete.shop import Shop
from tests.bench.complete.spools import Spools
from tests.bench.complete.visits import Visit, Visits

WORKERS = 2
#: What the workers do beside improving by neighbourhoods.
SEARCHES = ("no_lp", "quick_restart_no_lp")


@dataclass(frozen=True)
class Answer:
    """A plan, or none within the seconds; whether it is proven best of the model's plans."""

    plan: Plan | None
    proven: bool
    status: str


class Complete:
    """The model of one scenario.

    Parameters
    ----------
    exact : bool
        Preheats to the minute and as many runs as could be wanted; for tiny shops.
    """

    def __init__(self, scenario: Scenario, exact: bool = False) -> None:
        self.scenario, task = scenario, make_task(scenario)
        self.shop = Shop(task, Base(task), exact)
        self.visits = Visits(self.shop)
        self.spools = Spools(self.shop, self.visits)
        self.dryings = Dryings(self.shop, self.spools)
        self.anneals = Anneals(self.shop, self.visits)
        bind_changeovers(self.shop, self.visits, self.spools)
        bind_preheats(self.shop, self.visits)
        self.shop.bind_hands()
        self.shop.bind_turns()
        self.shop.model.minimize(sum(self.visits.lateness()))
        self.solver = cp_model.CpSolver()

    def solve(self, seconds: float) -> str:
        """Let the solver work; its status in words."""
        self.solver.parameters.max_time_in_seconds = seconds
        self.solver.parameters.num_workers = WORKERS
        # With linear relaxations, or one worker that only guesses, no first plan of S1 came in 100 s.
        self.solver.parameters.subsolvers.extend(SEARCHES)
        self.solver.parameters.ignore_subsolvers.append("fj")
        # Presolving to the last took longer than it saved.
        self.solver.parameters.cp_model_probing_level = 0
        self.solver.parameters.symmetry_level = 0
        return str(self.solver.status_name(self.solver.solve(self.shop.model)))

    def plan(self, scenario_hash: str, made_at: datetime, seconds: float) -> Plan:
        """The plan that the solver's values are."""
        shop, site = self.shop, self.scenario.site
        draft = Draft(shop.task, shop.S, shop.base.run_ids, tuple(shop.base.forced), ())
        begun = draft.plan(scenario_hash, made_at, seconds, 0, None)
        taken = {run.id for run in (*begun.dryer_runs, *begun.oven_runs)}
        free = (name for name in (f"run-{k}" for k in range(1, 100_000)) if name not in taken)
        machines = list(shop.task.names.machines)
        dryer_runs, oven_runs, oven_of = [], [], {}
        for run in [*self.dryings.runs, *self.anneals.runs]:
            if not self.solver.boolean_value(run.used):
                continue
            start = self.solver.value(run.start)
            first, last = site.instant(start), site.instant(start + self.solver.value(run.length))
            if run.jobs:
                jobs = tuple(self.scenario.jobs[j].id for j, lit in run.jobs.items() if self._is(lit))
                oven_runs.append(OvenRun(next(free), machines[run.machine], run.set_c, first, last, jobs))
                oven_of.update(dict.fromkeys(jobs, oven_runs[-1].id))
            else:
                spools = tuple(sorted(self._spool(m) for m, lit in run.spools.items() if self._is(lit)))
                dryer_runs.append(DryerRun(next(free), machines[run.machine], run.set_c, first, last, spools))
        placed = [
            self._job(visit, oven_of)
            for visit in self.visits.of.values()
            if visit.out is None or not self._is(visit.out)
        ]
        made = replace(
            begun,
            jobs=(*begun.jobs, *placed),
            dryer_runs=(*begun.dryer_runs, *dryer_runs),
            oven_runs=(*begun.oven_runs, *oven_runs),
            unplaced=self._unplaced(),
        )
        told = costs(self.scenario, made)
        return replace(
            made,
            late_cost=round(told.late_cost, 6),
            attended_min=told.attended_min,
            preheat_min=told.preheat_min,
        )

    def _is(self, lit: cp_model.IntVar) -> bool:
        return bool(self.solver.boolean_value(lit))

    def _spool(self, mount: tuple[int, int]) -> str:
        s = next(s for s in self.spools.candidates[mount] if self._is(self.spools.has[mount, s]))
        return self.scenario.spools[s].id

    def _job(self, visit: Visit, oven_of: dict[str, str]) -> PlannedJob:
        shop, P, site, value = self.shop, self.shop.P, self.scenario.site, self.solver.value
        way = next(way for way in visit.ways if self._is(way.taken))
        names, job = shop.task.names, self.scenario.jobs[visit.j]
        feeds = tuple(
            FeedChoice(
                names.head_of[head][1],
                names.nozzle_of[head][way.nozzles[f]],
                self._spool((visit.j, f)),
            )
            for f, head in enumerate(way.heads)
        )
        begin, change, unload = value(visit.begin), value(visit.change), value(visit.unload)
        printed = begin + P.start_min
        edges = (change, value(visit.heat), begin, printed, value(visit.print_end), unload)
        ends = (
            change + value(visit.length),
            begin,
            printed,
            value(visit.print_end),
            value(visit.cool_end),
            unload + P.unload_min,
        )
        done = ends[-1] if visit.oven_end is None else value(visit.oven_end)
        done += P.j_finish[visit.j]
        due = P.j_due[visit.j]
        return PlannedJob(
            job.id,
            self.scenario.printers[way.printer].id,
            feeds,
            P.k_set_c[P.j_recipe[visit.j] * P.printer_kinds + P.p_kind[way.printer]],
            oven_of.get(job.id),
            site.instant(done),
            max(0, done - due) if due < NEVER else 0,
            tuple(
                Step(kind, site.instant(a), site.instant(b))
                for kind, a, b in zip(PRINTER_STEPS, edges, ends, strict=True)
            ),
        )

    def _unplaced(self) -> tuple[Unplaced, ...]:
        shop, out = self.shop, []
        for job in self.scenario.jobs:
            if job.id in shop.held:
                out.append(Unplaced(job.id, (shop.held[job.id].reason(job),)))
            elif job.progress is None and not shop.task.matcher.fits_something(job.id):
                out.append(Unplaced(job.id, shop.task.matcher.verdict(job.id).reasons))
            elif (visit := self.visits.of.get(shop.task.names.jobs[job.id])) is not None:
                if visit.out is not None and self._is(visit.out):
                    grams = [feed.grams for feed in job.feeds]
                    text = "no spool with enough filament is left for it"
                    out.append(Unplaced(job.id, (Reason("stock", None, None, None, grams[0], None, text),)))
        return tuple(out)


def by_complete_solver(
    scenario: Scenario,
    scenario_hash: str,
    made_at: datetime,
    seconds: float,
    *,
    exact: bool = False,
    hint: Plan | None = None,
) -> Answer:
    """The plan that a general solver finds within so many seconds, if a hint is given beginning with it."""
    began = time.monotonic()
    model = Complete(scenario, exact)
    if hint is not None:
        give_hint(model.shop, model.visits, model.spools, hint, seconds / 2)
    status = model.solve(max(0.0, seconds - (time.monotonic() - began)))
    found = status in ("OPTIMAL", "FEASIBLE")
    plan = model.plan(scenario_hash, made_at, seconds) if found else None
    return Answer(plan, status == "OPTIMAL", status.lower())
