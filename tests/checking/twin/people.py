"""Who must be there, minute by minute, and which machine must not be down."""

from __future__ import annotations

from collections import defaultdict

from tests.checking.twin.paper import CHANGEOVER, COOLDOWN, PREHEAT, PRINT, START, UNLOAD, Paper


def judge_people(paper: Paper) -> None:
    """Hands, unattended, downtime."""
    site = paper.scenario.site
    busy: dict[int, list[tuple[str, ...]]] = defaultdict(list)

    def attend(minutes: range, who: str, *jobs: str) -> None:
        for t in minutes:
            busy[t].append(jobs)
        if any(paper.hands[t] == 0 for t in minutes):
            paper.breach("hands", who, *jobs)

    for row in paper.rows:
        who, down = f"job {row.job.id}", paper.down(row.printer.downtime)
        for step in range(row.begun, 6):
            minutes = row.minutes(step)
            if step in (CHANGEOVER, START, UNLOAD):
                attend(minutes, who, row.job.id)
            if row.bound(step):
                continue
            if down & set(minutes):
                paper.breach("downtime", who, row.job.id)
            watched = step in (PREHEAT, START, PRINT, COOLDOWN) and not row.printer.unattended
            if watched and any(paper.hands[t] == 0 for t in minutes):
                paper.breach("unattended", who, row.job.id)
    for runs, load in ((paper.dryings, site.dryer_load_min), (paper.bakes, site.oven_load_min)):
        for run in runs:
            if run.begun:
                continue
            jobs = run.given.jobs if run.kind == "oven" else ()
            attend(range(run.start, min(run.end, run.start + load)), run.who, *jobs)
            machines = [*paper.scenario.dryers, *paper.scenario.ovens]
            down = set().union(*(paper.down(m.downtime) for m in machines if m.id == run.machine.id))
            if down & set(range(run.start, run.end)):
                paper.breach("downtime", run.who, *jobs)
    begun = {job.id for job in paper.scenario.jobs if job.progress is not None}
    for t, works in busy.items():
        if len(works) > paper.hands[t] > 0:
            forgivable = all(begun.intersection(jobs) for jobs in works)
            paper.breach("hands", "people", *(job for jobs in works for job in jobs if forgivable))
