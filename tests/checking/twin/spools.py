"""Dryers, ovens and spools, minute by minute."""

from __future__ import annotations

import math
from collections import defaultdict

from scheduler.model import Spool
from tests.checking.twin.paper import PRINT, Paper, Row, Run


def judge_spools(paper: Paper) -> None:
    """Runs, places of spools, draws, dryness."""
    for run in paper.dryings:
        if not run.begun:
            _drying(paper, run)
    for run in paper.bakes:
        if not run.begun:
            _bake(paper, run)
    _crowds(paper)
    for row in paper.rows:
        _named(paper, row)
    for spool in paper.scenario.spools:
        _places(paper, spool)
        _draws(paper, spool)
        _dryness(paper, spool)
    for kind, plan_runs, given in (
        ("dryer", paper.plan.dryer_runs, paper.scenario.under_way.dryer_runs),
        ("oven", paper.plan.oven_runs, paper.scenario.under_way.oven_runs),
    ):
        for begun in given:
            if begun not in plan_runs:
                paper.breach("under way", f"{kind} run {begun.id}")


def _minutes(hours: float) -> int:
    return math.ceil(hours * 60 - 1e-6)


def _drying(paper: Paper, run: Run) -> None:
    dryer, heat, needs, good = run.machine, run.given.setpoint_c, [], True
    good = bool(run.given.spools) and heat <= dryer.max_c
    if dryer.kind == "rolling":
        good = good and heat == dryer.fixed_c and len(run.given.spools) == 1
    good = good and len(run.given.spools) <= dryer.slots
    for name in run.given.spools:
        spool = paper.spool(name)
        first = min((r for r in paper.dryings if name in r.given.spools), key=lambda r: (r.start, r.end))
        own = spool.drying is not None and first is run
        rows = spool.drying if own and spool.drying is not None else paper.material(spool.material).drying
        hours = [r.hours for r in rows if r.temp_c == heat and (dryer.vacuum or not r.vacuum)]
        good = good and heat <= spool.body_max_c and bool(hours)
        needs += [_minutes(min(hours))] if hours else []
    lasts = run.end - run.start
    if len(needs) == len(run.given.spools) > 0:
        rolling = dryer.kind == "rolling"
        good = good and (lasts >= max(needs) if rolling else lasts == dryer.warmup_min + max(needs))
    if not good:
        paper.breach("dryers", run.who)
    minute = paper.scenario.site.minute
    if run.start < max([0, *(minute(paper.spool(name).available_from) for name in run.given.spools)]):
        paper.breach("not before", run.who)


def _bake(paper: Paper, run: Run) -> None:
    oven, names, good = run.machine, run.given.jobs, True
    good = 0 < len(names) <= oven.slots and len(set(names)) == len(names) and run.given.temp_c <= oven.max_c
    for name in names:
        job, row = next(j for j in paper.scenario.jobs if j.id == name), paper.row(name)
        program = paper.material(job.feeds[0].material).anneal
        if not job.anneal or program is None:
            good = False
            continue
        good = good and program.temp_c == run.given.temp_c
        good = good and _minutes(program.hours) == run.end - run.start
        good = good and row is not None and row.last <= run.start
    if not good:
        paper.breach("ovens", run.who, *names)
    if run.start < 0:
        paper.breach("not before", run.who, *names)


def _named(paper: Paper, row: Row) -> None:
    runs = [run for run in paper.bakes if row.job.id in run.given.jobs]
    who, named = f"job {row.job.id}", row.planned.oven_run
    if row.job.anneal and paper.material(row.job.feeds[0].material).anneal is not None:
        if [run.given.id for run in runs] != [named]:
            paper.breach("ovens", who, row.job.id)
    elif named is not None:
        paper.breach("ovens", who, row.job.id)


def _crowds(paper: Paper) -> None:
    there: dict[tuple[str, int], list[Run]] = defaultdict(list)
    for run in [*paper.dryings, *paper.bakes]:
        for t in range(run.start, run.end):
            there[run.machine.id, t].append(run)
    for runs in there.values():
        for kind, rule in (("dryer", "dryers"), ("oven", "ovens")):
            same = [run for run in runs if run.kind == kind]
            rolling = kind == "dryer" and same and same[0].machine.kind == "rolling"
            room = same[0].machine.slots if rolling else 1
            if len(same) > room and any(not run.begun for run in same):
                jobs = [job for run in same if kind == "oven" for job in run.given.jobs]
                paper.breach(rule, [run.who for run in same], *jobs)
        if len({run.kind for run in runs}) == 2 and any(not run.begun for run in runs):
            jobs = [job for run in runs if run.kind == "oven" for job in run.given.jobs]
            paper.breach("dryers", [run.who for run in runs], *jobs)


def _places(paper: Paper, spool: Spool) -> None:
    there: dict[int, list[tuple[str, bool, str]]] = defaultdict(list)
    for row in paper.rows:
        count = [choice.spool for choice in row.planned.feeds].count(spool.id)
        if count > 1 and row.new:
            paper.breach("spools", f"job {row.job.id}", row.job.id)
        for t in range(row.first, row.last) if count else ():
            there[t].append((f"job {row.job.id}", row.new, row.job.id))
    for run in paper.dryings:
        if list(run.given.spools).count(spool.id) > 1 and not run.begun:
            paper.breach("spools", f"spool {spool.id}")
        for t in range(run.start, run.end) if spool.id in run.given.spools else ():
            there[t].append((run.who, not run.begun, ""))
    for stays in there.values():
        if len(stays) > 1 and any(new for _, new, _ in stays):
            paper.breach("spools", f"spool {spool.id}", *(job for _, _, job in stays if job))


def _draws(paper: Paper, spool: Spool) -> None:
    prints = [
        (row.steps[PRINT][0], row, feed)
        for row in paper.rows
        for choice, feed in zip(row.planned.feeds, row.job.feeds, strict=True)
        if choice.spool == spool.id and not (row.begun > PRINT and row.steps[PRINT][1] <= 0)
    ]
    left = spool.grams
    for _, row, feed in sorted(prints, key=lambda item: item[0]):
        left -= feed.grams
        if left < -1e-6 and row.begun <= PRINT:
            paper.breach("spools", f"spool {spool.id}", row.job.id)


def _dryness(paper: Paper, spool: Spool) -> None:
    minute, site = paper.scenario.site.minute, paper.scenario.site
    uses = [
        (row, head, material)
        for row in paper.rows
        for head, one, material in zip(row.heads, row.spools, row.materials, strict=True)
        if one.id == spool.id and material.drying
    ]
    dried, exposed = spool.dried, spool.exposed_min
    runs = [run for run in paper.dryings if spool.id in run.given.spools]
    wrong: set[str] = set()
    for t in range(max((max(0, row.steps[PRINT][1], row.first) for row, _, _ in uses), default=-1) + 1):
        if t > 0 and any(run.end == t for run in runs):
            dried, exposed = True, 0
        for row, _, material in uses:
            if max(0, row.first) == t and row.new and not dried:
                wrong.add(row.job.id)
            limit = material.open_time_min
            ends = max(0, row.steps[PRINT][1]) == t and row.begun <= PRINT
            if ends and dried and limit is not None and exposed > limit:
                wrong.add(row.job.id)
        if not dried or t < minute(spool.available_from) or any(r.start <= t < r.end for r in runs):
            continue
        on = [
            head
            for row in paper.rows
            for head, one in zip(row.heads, row.spools, strict=True)
            if one.id == spool.id and row.first <= t < row.last
        ]
        if any(not head.dry_feed for head in on) or (not on and not site.dry_storage):
            exposed += 1
    for job in wrong:
        paper.breach("dryness", f"job {job}", job)
