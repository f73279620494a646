"""A plan put back into the arrays: what is about to begin, what is pinned, or all of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta

from scheduler.model import DryerRun, OvenRun, Plan, PlannedJob
from scheduler.planning.compiled import Kernels, pool_of
from scheduler.planning.kernel.again import G_ROW, put_all_given
from scheduler.planning.kernel.tables import State
from scheduler.planning.problem import Task


@dataclass(frozen=True)
class Rows:
    """Jobs of a plan as rows of figures, in the order of their first layers.

    Attributes
    ----------
    jobs : tuple of int
        Their numbers.
    whole : list of int
        For `State.given`.
    celsius : list of float
        For `State.given_c`.
    """

    jobs: tuple[int, ...] = ()
    whole: list[int] = field(default_factory=list)
    celsius: list[float] = field(default_factory=list)


def within_freeze(task: Task, planned: PlannedJob) -> bool:
    """Whether the job's changeover begins within the freeze window."""
    site = task.scenario.site
    return planned.steps[0].start < site.plan_start + timedelta(minutes=site.freeze_min)


def rows_of(task: Task, plan: Plan, wanted: Callable[[PlannedJob], bool] = lambda planned: True) -> Rows:
    """The plan's jobs that have not begun and whose printers and spools are there, of those wanted."""
    names, site = task.names, task.scenario.site
    if not any(planned.job in names.jobs and wanted(planned) for planned in plan.jobs):
        return Rows()
    ways: dict[tuple[int, int, tuple[tuple[str, str], ...]], int] = {}
    chosen = []
    for planned in plan.jobs:
        j = names.jobs.get(planned.job, -1)
        if j < 0 or task.scenario.jobs[j].progress is not None or not wanted(planned):
            continue
        if planned.printer not in names.printers or any(c.spool not in names.spools for c in planned.feeds):
            continue
        if site.minute(planned.steps[0].start) < 0 or len(planned.feeds) != task.problem.j_feeds[j]:
            continue
        p = names.printers[planned.printer]
        asked = tuple((choice.head, choice.nozzle) for choice in planned.feeds)
        key = (task.problem.j_fit[j], p, asked)
        if key not in ways:
            ways[key] = way_of(task, j, p, asked)
        if ways[key] >= 0:
            chosen.append((site.minute(planned.steps[2].start), j, p, ways[key], planned))
    chosen.sort(key=lambda row: row[:2])
    dried: dict[str, list[DryerRun]] = {}
    for run in plan.dryer_runs:
        for spool in run.spools:
            dried.setdefault(spool, []).append(run)
    baked = {run.id: run for run in plan.oven_runs}
    uses: dict[str, list[int]] = {choice.spool: [] for row in chosen for choice in row[4].feeds}
    for planned in plan.jobs:
        for choice in planned.feeds:
            if choice.spool in uses:
                uses[choice.spool].append(site.minute(planned.steps[5].end))
    whole: list[int] = []
    celsius: list[float] = []
    for _, j, p, way, planned in chosen:
        spools = [names.spools[choice.spool] for choice in planned.feeds]
        steps = [(site.minute(step.start), site.minute(step.end)) for step in planned.steps]
        change, heat, begin, printing, cool, unload = steps[:6]
        whole += [j, p, way, spools[0], spools[1] if len(spools) == 2 else -1]
        whole += [*change, heat[0], begin[0], *printing, cool[1], *unload, site.minute(planned.done)]
        runs: list[DryerRun | None] = [
            _last_run(task, dried.get(choice.spool, []), uses[choice.spool], change[0])
            for choice in planned.feeds
        ]
        runs += [None] * (2 - len(runs))
        for f, dry in enumerate(runs):
            same = int(f == 1 and dry is not None and dry is runs[0])
            whole += [*_place(task, dry, "" if dry is None else dry.dryer), same]
            celsius.append(0.0 if dry is None else float(dry.setpoint_c))
        bake = baked.get(planned.oven_run) if planned.oven_run is not None else None
        whole += [*_place(task, bake, "" if bake is None else bake.oven), 0]
        celsius.append(0.0)
        whole += [0] * (-len(whole) % G_ROW)
    return Rows(tuple(row[1] for row in chosen), whole, celsius)


def put_back(task: Task, S: State, rows: Rows, kernels: Kernels | None = None) -> tuple[State, int]:
    """The state with the rows put back as far as every rule holds, and how many stand as they were."""
    if not rows.jobs:
        return S, 0
    if kernels is None:
        S.given[: len(rows.whole)] = rows.whole
        S.given_c[: len(rows.celsius)] = rows.celsius
        return S, put_all_given(task.problem, S, len(rows.jobs))
    pool = pool_of(task.problem, S, 0)
    pool.write("given", rows.whole)
    pool.write("given_c", rows.celsius)
    exact = kernels.put_all_given(pool.whole, pool.real, len(rows.jobs))
    return pool.state(S), int(exact)


def way_of(task: Task, j: int, p: int, asked: tuple[tuple[str, str], ...]) -> int:
    """The way of job ``j`` on printer ``p`` with these heads and nozzles, -1 if there is none."""
    P, names = task.problem, task.names
    fit = P.j_fit[j]
    for i in range(P.fit_off[fit], P.fit_off[fit + 1]):
        if P.fit_printer[i] != p:
            continue
        for way in range(P.way_off[P.fit_ways[i]], P.way_off[P.fit_ways[i] + 1]):
            there = []
            for f in range(P.j_feeds[j]):
                g = P.p_head_off[p] + P.way_head[2 * way + f]
                there.append((names.head_of[g][1], names.nozzle_of[g][P.way_nozzle[2 * way + f]]))
            if tuple(there) == asked:
                return way
    return -1


def _last_run(task: Task, runs: list[DryerRun], uses: list[int], change: int) -> DryerRun | None:
    """The run of the spool between its use before and the changeover; begun ones are in place already."""
    minute = task.scenario.site.minute
    since = max((end for end in uses if end <= change), default=None)
    last: DryerRun | None = None
    for run in runs:
        start, end = minute(run.start), minute(run.end)
        if end <= change and start >= 0 and (since is None or start >= since):
            if last is None or run.start > last.start:
                last = run
    return last


def _place(task: Task, run: DryerRun | OvenRun | None, machine: str) -> tuple[int, int, int]:
    """Machine, start and end of a run; -1 for none."""
    minute = task.scenario.site.minute
    if run is None or machine not in task.names.machines:
        return -1, 0, 0
    return task.names.machines[machine], minute(run.start), minute(run.end)
