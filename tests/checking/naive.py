"""A second judge, slow and plain: every minute of the plan as an entry of an array.

It knows fewer rules than `scheduler.checking` (printers, spools, hands, staffed time, downtime,
dryness, late cost) and shares none of its code.
"""

from __future__ import annotations

from collections import defaultdict

from scheduler.model import Plan, Scenario

ATTENDED = {"changeover", "start", "unload"}
WATCHED = {"preheat", "start", "print", "cooldown"}


def broken(scenario: Scenario, plan: Plan) -> set[str]:
    """Names of the rules that some minute of the plan breaks."""
    minute = scenario.site.minute
    found: set[str] = set()
    jobs = {job.id: job for job in scenario.jobs}
    printers = {printer.id: printer for printer in scenario.printers}
    begun = {job.id: len(job.progress.steps) if job.progress else 0 for job in scenario.jobs}
    hands: dict[int, int] = defaultdict(int)
    for shift in scenario.shifts:
        for t in range(minute(shift.start), minute(shift.end)):
            hands[t] += shift.hands
    busy: dict[int, int] = defaultdict(int)
    on_printer: dict[tuple[str, int], list[str]] = defaultdict(list)
    on_spool: dict[tuple[str, int], list[str]] = defaultdict(list)
    mounted: dict[tuple[str, int], bool] = {}
    prints: dict[str, list[tuple[int, bool, str]]] = defaultdict(list)
    for planned in plan.jobs:
        printer = printers[planned.printer]
        down = {t for d in printer.downtime for t in range(minute(d.start), minute(d.end))}
        first, last = minute(planned.steps[0].start), minute(planned.steps[5].end)
        for t in range(first, last):
            on_printer[printer.id, t].append(planned.job)
        for choice in planned.feeds:
            head = next(head for head in printer.heads if head.id == choice.head)
            for t in range(first, last):
                on_spool[choice.spool, t].append(planned.job)
                mounted[choice.spool, t] = not head.dry_feed
            prints[choice.spool].append((minute(planned.steps[3].end), begun[planned.job] == 0, planned.job))
        after_begun = {3: {3, 4}, 4: {4}}.get(begun[planned.job], set())
        for number, step in enumerate(planned.steps):
            if number < begun[planned.job]:
                continue
            for t in range(minute(step.start), minute(step.end)):
                if step.kind in ATTENDED:
                    busy[t] += 1
                    if hands[t] == 0:
                        found.add("hands")
                if number in after_begun:
                    continue
                if t in down:
                    found.add("downtime")
                if step.kind in WATCHED and not printer.unattended and hands[t] == 0:
                    found.add("unattended")
    old = {run.id for run in (*scenario.under_way.dryer_runs, *scenario.under_way.oven_runs)}
    for run in plan.dryer_runs:
        start, end = minute(run.start), minute(run.end)
        for spool in run.spools:
            for t in range(start, end):
                on_spool[spool, t].append(f"run {run.id}")
        if run.id not in old:
            for t in range(start, min(end, start + scenario.site.dryer_load_min)):
                busy[t] += 1
                found |= {"hands"} if hands[t] == 0 else set()
    for bake in plan.oven_runs:
        start, end = minute(bake.start), minute(bake.end)
        if bake.id not in old:
            for t in range(start, min(end, start + scenario.site.oven_load_min)):
                busy[t] += 1
                found |= {"hands"} if hands[t] == 0 else set()
    if any(count > hands[t] for t, count in busy.items() if hands[t] > 0):
        found.add("hands")
    new = {job for job, count in begun.items() if count == 0}
    if any(len(set(who)) > 1 and new & set(who) for who in on_printer.values()):
        found.add("printer")
    both = [set(who) for who in on_spool.values() if len(set(who)) > 1]
    if any(any(one in new or (one.startswith("run ") and one[4:] not in old) for one in who) for who in both):
        found.add("spools")
    found |= _dryness(scenario, plan, on_spool, mounted, prints)
    late = sum(
        job.weight * max(0, minute(planned.done) - minute(job.due)) / 60
        for planned in plan.jobs
        if (job := jobs[planned.job]).due is not None
    )
    if not plan.unplaced and abs(late - plan.late_cost) > 0.005:
        found.add("cost")
    return found


def _dryness(
    scenario: Scenario,
    plan: Plan,
    on_spool: dict[tuple[str, int], list[str]],
    mounted: dict[tuple[str, int], bool],
    prints: dict[str, list[tuple[int, bool, str]]],
) -> set[str]:
    minute = scenario.site.minute
    materials = {material.id: material for material in scenario.materials}
    planned = {job.job: job for job in plan.jobs}
    for spool in scenario.spools:
        material = materials[spool.material]
        if not material.drying or not prints[spool.id]:
            continue
        dried, exposed = spool.dried, spool.exposed_min
        ends = {minute(run.end) for run in plan.dryer_runs if spool.id in run.spools}
        drying = {
            t
            for run in plan.dryer_runs
            if spool.id in run.spools
            for t in range(minute(run.start), minute(run.end))
        }
        mounts = {minute(planned[job].steps[0].start): new for _, new, job in prints[spool.id]}
        over = {end: new for end, new, _ in prints[spool.id]}
        for t in range(max(over) + 1):
            if t in ends and t > 0:
                dried, exposed = True, 0
            if mounts.get(t) and not dried:
                return {"dryness"}
            if over.get(t) and material.open_time_min is not None and exposed > material.open_time_min:
                return {"dryness"}
            if not dried or t < minute(spool.available_from) or t in drying:
                continue
            if (spool.id, t) in mounted:
                exposed += mounted[spool.id, t]
            elif not scenario.site.dry_storage:
                exposed += 1
    return set()
