"""From the decoder's arrays to a plan."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.model import (
    DryerRun,
    FeedChoice,
    Forced,
    Job,
    OvenRun,
    Plan,
    PlannedJob,
    Step,
    StepKind,
    Unplaced,
)
from scheduler.planning.kernel.bake import load_minutes
from scheduler.planning.kernel.tables import NEVER, SHIFT_MIN, State
from scheduler.planning.problem import SHIFT_PART, Task


@dataclass(frozen=True)
class Cost:
    """What is optimised, in the order of its parts."""

    late_hours: float
    attended_min: int
    preheat_min: int
    moved: int
    shifted: int = 0

    def value(self, move_cost_h: float) -> float:
        """One figure to compare plans by; the tie-break weighs next to nothing."""
        return (
            self.late_hours
            + move_cost_h * (self.moved + SHIFT_PART * self.shifted)
            + 1e-6 * (self.attended_min + 0.1 * self.preheat_min)
        )


def cost_of(task: Task, S: State) -> Cost:
    """Cost of a plan as it stands."""
    P = task.problem
    late, attended, heating, moved, shifted = 0.0, 0, 0, 0, 0
    never = P.left_out_at
    for j in range(P.jobs):
        placed = S.printer[j] >= 0
        if placed:
            late += P.j_weight[j] * max(0, S.done[j] - P.j_due[j]) / 60.0
            if P.j_keep[j] >= 0 and P.j_keep[j] != S.printer[j]:
                moved += 1
            elif P.j_begin[j] >= 0 and abs(S.begin[j] - P.j_begin[j]) > SHIFT_MIN:
                shifted += 1
            if S.change[j] >= 0:
                attended += S.change_end[j] - S.change[j]
            if S.begin[j] >= 0:
                attended += S.print_start[j] - S.begin[j]
            if S.unload[j] >= 0:
                attended += S.unload_end[j] - S.unload[j]
            if S.heat[j] >= 0:
                heating += S.begin[j] - S.heat[j]
        elif P.j_due[j] < NEVER and P.fit_off[P.j_fit[j]] < P.fit_off[P.j_fit[j] + 1]:
            late += P.j_weight[j] * max(0, never - P.j_due[j]) / 60.0
    for run in range(P.run_cap):
        if S.run_machine[run] >= 0 and S.run_start[run] >= 0:
            attended += load_minutes(P, S.run_oven[run], S.run_start[run], S.run_end[run])
    return Cost(late, attended, heating, moved, shifted)


@dataclass(frozen=True)
class Draft:
    """A finished decoding, ready to be written as a plan."""

    task: Task
    state: State
    run_ids: dict[int, str]
    forced: tuple[Forced, ...]
    unplaced: tuple[Unplaced, ...]

    def plan(
        self, scenario_hash: str, made_at: datetime, seconds: float, seed: int, bound: float | None
    ) -> Plan:
        """The plan with ids, instants and figures."""
        task, S, P = self.task, self.state, self.task.problem
        site = task.scenario.site
        cost = cost_of(task, S)
        ids = self._run_names()
        bakers = list(task.names.machines)
        members: dict[int, list[str]] = {}
        for s, spool in enumerate(task.scenario.spools):
            for k in range(P.chain_off[s], P.chain_off[s] + S.chain_n[s]):
                if S.chain_ref[k] < 0:
                    members.setdefault(-1 - S.chain_ref[k], []).append(spool.id)
        begun_dry = {run.id: run for run in task.scenario.under_way.dryer_runs}
        begun_bake = {run.id: run for run in task.scenario.under_way.oven_runs}
        baked: dict[int, list[str]] = {}
        for j, job in enumerate(task.scenario.jobs):
            if S.oven_run[j] >= 0:
                baked.setdefault(S.oven_run[j], []).append(job.id)
        dryer_runs, oven_runs = [], []
        order = sorted(
            (r for r in range(P.run_cap) if S.run_machine[r] >= 0), key=lambda r: (S.run_start[r], ids[r])
        )
        for r in order:
            start, end = site.instant(S.run_start[r]), site.instant(S.run_end[r])
            if ids[r] in begun_dry and S.run_oven[r] == 0:
                dryer_runs.append(begun_dry[ids[r]])
            elif S.run_oven[r] == 0:
                dryer_runs.append(
                    DryerRun(
                        ids[r],
                        bakers[S.run_machine[r]],
                        S.run_set_c[r],
                        start,
                        end,
                        tuple(sorted(members[r])),
                    )
                )
            elif ids[r] in begun_bake and S.run_begun[r] == 1:
                oven_runs.append(begun_bake[ids[r]])
            else:
                oven_runs.append(
                    OvenRun(ids[r], bakers[S.run_machine[r]], S.run_set_c[r], start, end, tuple(baked[r]))
                )
        return Plan(
            scenario_hash=scenario_hash,
            made_at=made_at,
            late_cost=round(cost.late_hours, 6),
            attended_min=cost.attended_min,
            preheat_min=cost.preheat_min,
            lower_bound=None if bound is None else round(min(bound, cost.late_hours), 6),
            seconds=round(seconds, 3),
            seed=seed,
            jobs=tuple(
                self._job(j, job, ids) for j, job in enumerate(task.scenario.jobs) if S.printer[j] >= 0
            ),
            dryer_runs=tuple(dryer_runs),
            oven_runs=tuple(oven_runs),
            forced=self.forced,
            unplaced=self.unplaced,
        )

    def _run_names(self) -> dict[int, str]:
        S, P = self.state, self.task.problem
        taken = set(self.run_ids.values())
        ids = dict(self.run_ids)
        bakers = list(self.task.names.machines)
        fresh = [r for r in range(P.run_cap) if S.run_machine[r] >= 0 and r not in ids]
        fresh.sort(key=lambda r: (S.run_start[r], S.run_end[r], bakers[S.run_machine[r]], r))
        number = 0
        for r in fresh:
            number += 1
            prefix = "anneal" if S.run_oven[r] == 1 else "dry"
            while f"{prefix}-{number}" in taken:
                number += 1
            ids[r] = f"{prefix}-{number}"
        return ids

    def _job(self, j: int, job: Job, ids: dict[int, str]) -> PlannedJob:
        task, S, P = self.task, self.state, self.task.problem
        site = task.scenario.site
        feeds = []
        for f in range(P.j_feeds[j]):
            ref = 2 * j + f
            _, head = task.names.head_of[S.head[ref]]
            nozzle = task.names.nozzle_of[S.head[ref]][S.nozzle[ref]]
            feeds.append(FeedChoice(head, nozzle, task.scenario.spools[S.spool[ref]].id))
        bounds: list[tuple[StepKind, int, int]] = [
            ("changeover", S.change[j], S.change_end[j]),
            ("preheat", S.heat[j], S.begin[j]),
            ("start", S.begin[j], S.print_start[j]),
            ("print", S.print_start[j], S.print_end[j]),
            ("cooldown", S.print_end[j], S.cool_end[j]),
            ("unload", S.unload[j], S.unload_end[j]),
        ]
        steps = [Step(kind, site.instant(start), site.instant(end)) for kind, start, end in bounds]
        if job.progress is not None:
            for k, given in enumerate(job.progress.steps):
                steps[k] = given if given.kind != "preheat" else Step("preheat", given.start, steps[k].end)
        late = max(0, S.done[j] - P.j_due[j])
        oven = S.oven_run[j]
        return PlannedJob(
            job=job.id,
            printer=task.scenario.printers[S.printer[j]].id,
            feeds=tuple(feeds),
            chamber_c=P.k_set_c[P.j_recipe[j] * P.printer_kinds + P.p_kind[S.printer[j]]],
            oven_run=ids[oven] if oven >= 0 else None,
            done=site.instant(S.done[j]),
            late_min=late,
            steps=tuple(steps),
        )
