"""What the contract says of a job on its printer: order, lengths, chamber, changeover, match, pin."""

from __future__ import annotations

import math
from collections import defaultdict

from tests.checking.twin.paper import CHANGEOVER, COOLDOWN, PREHEAT, PRINT, START, UNLOAD, Paper, Row
from tests.matching import naive


def judge_printers(paper: Paper) -> None:
    """All rules of this page."""
    for row in paper.rows:
        _given(paper, row)
        _order(paper, row)
        _lengths(paper, row)
        _chamber(paper, row)
        _early(paper, row)
        _match(paper, row)
        _pin(paper, row)
        _lot(paper, row)
        if row.new and row.steps[0][0] <= row.steps[0][1]:
            asked = changeover_min(paper, row)
            if row.steps[0][1] - row.steps[0][0] != asked:
                paper.breach("changeover", f"job {row.job.id}", row.job.id)
    _one_at_a_time(paper)
    for job in paper.scenario.jobs:
        if job.progress is not None and paper.row(job.id) is None:
            paper.breach("under way", f"job {job.id}")


def _given(paper: Paper, row: Row) -> None:
    given, who, minute = row.job.progress, f"job {row.job.id}", paper.scenario.site.minute
    if given is None:
        return
    same = row.printer.id == given.printer and row.planned.feeds == given.feeds
    for number, step in enumerate(given.steps):
        start, end = row.steps[number]
        same = same and start == minute(step.start)
        may_hold = number == PREHEAT and row.begun == 2
        same = same and (end == minute(step.end) or (may_hold and end > minute(step.end)))
    if not same:
        paper.breach("under way", who)


def _order(paper: Paper, row: Row) -> None:
    good = True
    for step in range(6):
        if step < row.begun:
            continue
        start, end = row.steps[step]
        good = good and start <= end
        if step > 0:
            before = row.steps[step - 1][1]
            good = good and (start >= before if step in (PREHEAT, UNLOAD) else start == before)
    if not good:
        paper.breach("steps", f"job {row.job.id}", row.job.id)


def _lengths(paper: Paper, row: Row) -> None:
    site = paper.scenario.site
    fixed = [("steps", START, site.start_min), ("steps", UNLOAD, site.unload_min)]
    fixed.append(("print", PRINT, naive.print_min(row.job, row.printer)))
    for rule, step, asked in fixed:
        start, end = row.steps[step]
        if step >= row.begun and start <= end and end - start != asked:
            paper.breach(rule, f"job {row.job.id}", row.job.id)


def _window(row: Row) -> tuple[float, float]:
    lo = max(m.chamber_c.lo for m in row.materials)
    hi = min(m.chamber_c.hi for m in row.materials)
    if lo > hi:  # only what began against the matcher
        lo, hi = row.materials[0].chamber_c.lo, row.materials[0].chamber_c.hi
    return lo, hi


def setpoint(paper: Paper, row: Row) -> float:
    """The chamber's setpoint, or the room's temperature where nothing heats."""
    ambient, (lo, hi), wanted = paper.scenario.site.ambient_c, _window(row), row.materials[0].chamber_set_c
    if row.printer.chamber_max_c is None:
        return ambient
    wanted = min(max(wanted, lo), hi, row.printer.chamber_max_c)
    return ambient if wanted <= ambient else wanted


def cooled(paper: Paper, row: Row) -> list[float]:
    """The chamber after 0, 1, 2, … minutes of the cooldown."""
    ambient, tau = paper.scenario.site.ambient_c, row.printer.cool_tau_min
    caps = [m.max_cool_c_per_min for m in row.materials if m.max_cool_c_per_min is not None]
    cap = min(caps) if caps else math.inf
    curve = [setpoint(paper, row)]
    for _ in range(4000):
        above = curve[-1] - ambient
        slow = 0.0
        if above / tau > cap:
            slow = min(1.0, (above - cap * tau) / cap)
            above -= cap * slow
        curve.append(ambient + above * math.exp(-(1.0 - slow) / tau))
    return curve


def chamber_at(paper: Paper, row: Row, t: int) -> float:
    """What the contract calls T0 at minute ``t``, cooling minute by minute."""
    ambient, printer = paper.scenario.site.ambient_c, row.printer
    if printer.chamber_max_c is None:
        return ambient
    since, warm = 0, printer.chamber_now_c
    for other in sorted(paper.rows, key=lambda one: (one.first, one.last)):
        start, end = other.steps[COOLDOWN]
        if other.printer is printer and 0 < end <= t and end >= since:
            since, warm = end, cooled(paper, other)[max(0, end - start)]
    for _ in range(since, t):
        warm = ambient + (warm - ambient) * math.exp(-1 / printer.cool_tau_min)
    if t < 0:  # before the plan: the same curve backwards
        warm = ambient + (warm - ambient) * math.exp(-t / printer.cool_tau_min)
    return warm


def _chamber(paper: Paper, row: Row) -> None:
    who, printer, ambient = f"job {row.job.id}", row.printer, paper.scenario.site.ambient_c
    top, high = setpoint(paper, row), _window(row)[1]
    if abs(row.planned.chamber_c - top) > 1e-6:
        paper.breach("setpoint", who, row.job.id)
    start, end = row.steps[PREHEAT]
    if row.begun <= PREHEAT and start <= end:
        there, reach, lasts = chamber_at(paper, row, start), printer.chamber_reach_c, 0.0
        if reach is not None and top > ambient and there < top:
            lasts = printer.heat_tau_min * math.log((reach - there) / (reach - top))
        elif there > high:
            lasts = printer.cool_tau_min * math.log((there - ambient) / (high - ambient))
        asked = math.ceil(max(lasts, printer.bed_heat_min) - 1e-6) + max(m.soak_min for m in row.materials)
        if end - start < asked:
            paper.breach("preheat", who, row.job.id)
    start, end = row.steps[COOLDOWN]
    if row.begun <= COOLDOWN and start <= end:
        release, minute = min(m.release_c for m in row.materials) + 1e-6, 0
        curve = cooled(paper, row)
        while curve[minute] > release or minute < printer.bed_cool_min:
            minute += 1
        if end - start != minute:
            paper.breach("cooldown", who, row.job.id)


def changeover_min(paper: Paper, row: Row) -> int:
    """Minutes of a changeover, head by head."""
    site, total = paper.scenario.site, paper.scenario.site.plate_min
    for choice, head, spool in zip(row.planned.feeds, row.heads, row.spools, strict=True):
        was, since = (head.mounted.spool, head.mounted.material, head.mounted.nozzle), 0
        for other in sorted(paper.rows, key=lambda one: (one.first, one.last)):
            if other is row:
                break
            if other.printer is not row.printer or (other.begun and other.last <= 0):
                continue
            for theirs, material in zip(other.planned.feeds, other.materials, strict=True):
                if theirs.head == choice.head:
                    was, since = (theirs.spool, material.id, theirs.nozzle), other.last
        away = any(_elsewhere(paper, row, choice.head, spool.id, t) for t in range(since, row.first))
        if was[0] != spool.id or away:
            total += site.spool_swap_min
        material_id = row.materials[row.planned.feeds.index(choice)].id
        if was[1] is not None and was[1] != material_id:
            purges = [p.minutes for p in site.purges if (p.source, p.target) == (was[1], material_id)]
            total += purges[0] if purges else site.purge_min
        if was[2] != choice.nozzle:
            total += site.nozzle_swap_min
    return total


def _elsewhere(paper: Paper, row: Row, head: str, spool: str, t: int) -> bool:
    if any(spool in run.given.spools and run.start <= t < run.end for run in paper.dryings):
        return True
    return any(
        choice.spool == spool and (other.printer.id, choice.head) != (row.printer.id, head)
        for other in paper.rows
        if other.first <= t < other.last
        for choice in other.planned.feeds
    )


def _early(paper: Paper, row: Row) -> None:
    minute, early = paper.scenario.site.minute, False
    if row.new:
        bounds = [0, minute(row.printer.free_at), minute(row.job.release)]
        bounds += [minute(spool.available_from) for spool in row.spools]
        early = row.first < max(bounds)
    else:
        early = any(row.steps[step][0] < 0 for step in range(row.begun, 6))
    if early:
        paper.breach("not before", f"job {row.job.id}", row.job.id)


def _match(paper: Paper, row: Row) -> None:
    if not row.new:
        return
    _, passing = naive.judge(paper.scenario, row.job, row.printer)
    seats = tuple((choice.head, choice.nozzle) for choice in row.planned.feeds)
    good = seats in passing
    for feed, spool in zip(row.job.feeds, row.spools, strict=True):
        good = good and spool.material == feed.material and set(feed.certs) <= set(spool.certs)
    if not good:
        paper.breach("match", f"job {row.job.id}", row.job.id)


def _pin(paper: Paper, row: Row) -> None:
    pin = row.job.pinned
    if pin is None or row.begun > PRINT:
        return
    moved = row.new and row.printer.id != pin.printer
    if moved or row.steps[PRINT][0] != paper.scenario.site.minute(pin.print_start):
        paper.breach("pinned", f"job {row.job.id}", row.job.id)


def _lot(paper: Paper, row: Row) -> None:
    other = paper.row(row.job.same_lot_as)
    if row.new and other is not None and other.spools[0].lot != row.spools[0].lot:
        paper.breach("lots", f"job {row.job.id}", row.job.id)


def _one_at_a_time(paper: Paper) -> None:
    there: dict[tuple[str, int], list[Row]] = defaultdict(list)
    for row in paper.rows:
        for t in range(row.steps[CHANGEOVER][0], row.steps[UNLOAD][1]):
            there[row.printer.id, t].append(row)
    for rows in there.values():
        if len(rows) > 1 and any(row.new for row in rows):
            ids = [row.job.id for row in rows]
            paper.breach("printer", [f"job {one}" for one in ids], *ids)
