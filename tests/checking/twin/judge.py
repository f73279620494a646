"""The whole second judgement, and how it is compared with the first."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import product

from scheduler.checking import Breach
from scheduler.model import Job, Plan, Scenario
from tests.checking.twin.on_printers import judge_printers
from tests.checking.twin.paper import PREHEAT, PRINT, Found, Paper, Row, lay_out
from tests.checking.twin.people import judge_people
from tests.checking.twin.spools import judge_spools
from tests.matching import naive


def found(scenario: Scenario, plan: Plan) -> list[Found]:
    """Every place where some minute of the plan breaks a rule."""
    paper = lay_out(scenario, plan)
    judge_printers(paper)
    judge_people(paper)
    judge_spools(paper)
    _excuse(paper)
    _complete(paper)
    _figures(paper)
    return paper.found


def disagreements(breaches: Iterable[Breach], twins: Iterable[Found]) -> set[str]:
    """What only one of the two says; where several share a blame, either may be named."""
    # The twin looks for no places; those that the checker finds are put to it one by one in test_left_out.
    said = {(breach.rule, breach.who) for breach in breaches if "it has a place: " not in breach.text}
    theirs = {(one.rule, one.who) for one in twins}
    out = {
        f"only the twin: {rule}: {', '.join(sorted(who))}"
        for rule, who in theirs
        if not any((rule, name) in said for name in who)
    }
    for rule, name in said:
        if not any(rule == other and name in who for other, who in theirs):
            out.add(f"only the checker: {rule}: {name}")
    return out


def _excuse(paper: Paper) -> None:
    begun = {job.id for job in paper.scenario.jobs if job.progress is not None}
    excused: list[Found] = []
    idle = []
    for forced in paper.plan.forced:
        held = [one for one in paper.found if one.rule == forced.rule and forced.job in one.jobs]
        if forced.job not in begun or not held:
            idle.append(f"job {forced.job}")
        elif forced.job in begun:
            excused += held
    paper.found[:] = [one for one in paper.found if one not in excused]
    for who in idle:
        paper.breach("forced", who)


def _fits(paper: Paper, job: Job) -> bool:
    return any(not naive.judge(paper.scenario, job, printer)[0] for printer in paper.scenario.printers)


def _complete(paper: Paper) -> None:
    for job in paper.scenario.jobs:
        entries = [one for one in paper.plan.unplaced if one.job == job.id]
        if job.progress is not None:
            # Never left out: that is told as work under way.
            if len(entries) > 1 or (entries and paper.row(job.id) is not None):
                paper.breach("complete", f"job {job.id}")
            continue
        placed = sum(1 for one in paper.plan.jobs if one.job == job.id)
        good = len(entries) + placed == 1
        if entries and not placed:
            checks = {reason.check for reason in entries[0].reasons}
            if not _fits(paper, job):
                asked = {
                    (printer.id, miss.check)
                    for printer in paper.scenario.printers
                    for miss in naive.judge(paper.scenario, job, printer)[0]
                }
                good = good and asked == {(one.printer, one.check) for one in entries[0].reasons}
            else:
                allowed = {"pinned"} if job.pinned is not None else {"horizon", "stock"}
                good = good and bool(checks) and checks <= allowed
                good = good and not ("stock" in checks and _stock_is_there(paper, job))
        if not good:
            paper.breach("complete", f"job {job.id}")


def _stock_is_there(paper: Paper, job: Job) -> bool:
    left = {spool.id: spool.grams for spool in paper.scenario.spools}
    for row in paper.rows:
        if not (row.begun > PRINT and row.steps[PRINT][1] <= 0):
            for choice, feed in zip(row.planned.feeds, row.job.feeds, strict=True):
                left[choice.spool] -= feed.grams
    lots = {
        row.spools[0].lot
        for row in paper.rows
        if row.job.id == job.same_lot_as or (row.new and row.job.same_lot_as == job.id)
    }
    choices = [
        [
            spool
            for spool in paper.scenario.spools
            if naive.spool_serves(paper.scenario, job, feed, spool)
            and left[spool.id] >= job.feeds[feed].grams - 1e-6
            and (feed > 0 or not lots or {spool.lot} == lots)
        ]
        for feed in range(len(job.feeds))
    ]
    return any(len({spool.id for spool in pick}) == len(pick) for pick in product(*choices))


def _figures(paper: Paper) -> None:
    site, plan = paper.scenario.site, paper.plan
    never = max(site.minute(shift.end) for shift in paper.scenario.shifts) + 7 * 24 * 60
    late_h, people, preheat = 0.0, 0, 0
    for job in paper.scenario.jobs:
        row = paper.row(job.id)
        done = never if row is None else _done(paper, row)
        late = 0 if job.due is None else max(0, done - site.minute(job.due))
        if row is not None:
            if site.minute(row.planned.done) != done or row.planned.late_min != late:
                paper.breach("done", f"job {job.id}")
        elif job.progress is None and not _fits(paper, job):
            continue
        late_h += job.weight * late / 60
    for row in paper.rows:
        people += sum(len(row.minutes(step)) for step in (0, 2, 5) if step >= row.begun)
        preheat += len(row.minutes(PREHEAT)) if row.begun <= PREHEAT else 0
    for runs, load in ((paper.dryings, site.dryer_load_min), (paper.bakes, site.oven_load_min)):
        people += sum(len(range(run.start, min(run.end, run.start + load))) for run in runs if not run.begun)
    pairs = ((late_h, plan.late_cost), (people, plan.attended_min), (preheat, plan.preheat_min))
    good = all(abs(ours - theirs) <= 0.005 for ours, theirs in pairs)
    if plan.lower_bound is not None:
        good = good and plan.lower_bound <= late_h + 0.005
    if not good:
        paper.breach("cost", "plan")


def _done(paper: Paper, row: Row) -> int:
    ends = [run.end for run in paper.bakes if row.job.anneal and row.job.id in run.given.jobs]
    return max(ends, default=row.last) + row.job.finish_min
