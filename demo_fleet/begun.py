"""Jobs begun before the plan starts: their steps, and the state in which they leave their printer."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from scheduler.model import FeedChoice, Job, Material, Mounted, Printer, Progress, Site, Span, Step, StepKind
from scheduler.physics import cooldown, preheat_minutes, setpoint_c, whole_minutes
from scheduler.physics.heat import cooldown_c, decayed_c

#: The step that a begun job is in; ``finished``: all six are over and only the oven is left.
Stage = Literal["changeover", "preheat", "start", "print", "cooldown", "unload", "finished"]


@dataclass(frozen=True, slots=True)
class Lengths:
    """Minutes of the six steps of one job on one printer whose chamber starts at the room's temperature."""

    setpoint_c: float
    changeover: int
    preheat: int
    start: int
    print: int
    cooldown: int
    unload: int
    cap_c_per_min: float | None

    def of(self, kind: StepKind) -> int:
        """Minutes of one step."""
        return int(getattr(self, kind))


def common_window(windows: list[Span]) -> Span:
    """The common part of temperature windows, °C; ``ValueError`` where there is none."""
    return Span(max(each.lo for each in windows), min(each.hi for each in windows))


def lengths(site: Site, job: Job, printer: Printer, materials: dict[str, Material]) -> Lengths:
    """How long each step of ``job`` lasts on ``printer``, by the shop's formulas."""
    used = [materials[feed.material] for feed in job.feeds]
    window = common_window([each.chamber_c for each in used])
    setpoint = setpoint_c(used[0].chamber_set_c, window, printer, site.ambient_c)
    caps = [each.max_cool_c_per_min for each in used if each.max_cool_c_per_min is not None]
    cap = min(caps) if caps else None
    soak = max(each.soak_min for each in used)
    release = min(each.release_c for each in used)
    return Lengths(
        setpoint,
        site.plate_min + site.spool_swap_min * len(used) + site.purge_min,
        preheat_minutes(site.ambient_c, setpoint, window.hi, soak, printer, site.ambient_c),
        site.start_min,
        whole_minutes(job.print_min * printer.speed_factor),
        cooldown(setpoint, release, cap, printer, site.ambient_c).minutes,
        site.unload_min,
        cap,
    )


#: Minutes that a cold plate waited for the person who took it off.
UNLOAD_WAIT_MIN = 3

#: The steps that follow one another without a gap; before a preheat and before an unload there may be one.
_CHAIN: tuple[StepKind, ...] = ("preheat", "start", "print", "cooldown")


def _steps(
    plan_start: datetime, stage: Stage, into_min: int, gap_min: int, each: Lengths
) -> tuple[Step, ...]:
    """The steps begun when ``stage`` began ``into_min`` minutes before ``plan_start``."""

    def ago(minutes: int) -> datetime:
        return plan_start - timedelta(minutes=minutes)

    if stage == "changeover":
        return (Step("changeover", ago(into_min), ago(into_min - each.changeover)),)
    tail: tuple[Step, ...] = ()
    if stage in ("unload", "finished"):
        tail = (Step("unload", ago(into_min), ago(into_min - each.unload)),)
        last: StepKind = "cooldown"
        begins = into_min + UNLOAD_WAIT_MIN + each.cooldown
    else:
        last = stage  # type: ignore[assignment]  # the other two stages are step kinds of the chain
        begins = into_min
    kinds = _CHAIN[: _CHAIN.index(last) + 1]
    chain: list[Step] = []
    for kind in reversed(kinds):
        if kind != last:
            begins += each.of(kind)
        chain.insert(0, Step(kind, ago(begins), ago(begins - each.of(kind))))
    changeover = Step("changeover", ago(begins + gap_min + each.changeover), ago(begins + gap_min))
    return (changeover, *chain, *tail)


def _chamber_c(stage: Stage, into_min: int, each: Lengths, printer: Printer, ambient_c: float) -> float:
    """Chamber temperature at ``plan_start``, °C."""
    if printer.chamber_reach_c is None or each.setpoint_c <= ambient_c or stage == "changeover":
        return ambient_c
    if stage == "preheat":
        reach = printer.chamber_reach_c
        risen = reach - (reach - ambient_c) * math.exp(-into_min / printer.heat_tau_min)
        return min(risen, each.setpoint_c)
    if stage in ("start", "print"):
        return each.setpoint_c
    since_print = into_min if stage == "cooldown" else into_min + UNLOAD_WAIT_MIN + each.cooldown
    falling = min(since_print, each.cooldown)
    fallen_c = cooldown_c(each.setpoint_c, falling, each.cap_c_per_min, printer.cool_tau_min, ambient_c)
    return decayed_c(fallen_c, since_print - falling, printer.cool_tau_min, ambient_c)


def begin(
    site: Site,
    job: Job,
    printer: Printer,
    choices: tuple[FeedChoice, ...],
    materials: dict[str, Material],
    stage: Stage,
    into_min: int,
    gap_min: int = 0,
) -> tuple[Job, Printer]:
    """``job`` begun on ``printer``, and the printer as it stands at ``plan_start``.

    Parameters
    ----------
    into_min : int
        Minutes since ``stage`` began; at least 1, and no longer than a stage lasts that the next must
        follow without a gap (``ValueError``). A changeover or cooldown may be over and waiting.
    gap_min : int
        Minutes between changeover and preheat.

    Notes
    -----
    A finished job leaves the printer cold and free: its plate was taken off long before.
    """
    each = lengths(site, job, printer, materials)
    if into_min < 1 or (stage in ("preheat", "start", "print") and into_min > each.of(stage)):
        raise ValueError(f"job {job.id}: {into_min} minutes into a {stage} do not go with its length")
    steps = _steps(site.plan_start, stage, into_min, gap_min, each)
    progress = Progress(printer.id, choices, steps)
    begun = replace(job, progress=progress, release=min(job.release, steps[0].start))
    if stage == "finished":
        return begun, printer
    mounted = {
        choice.head: Mounted(choice.spool, feed.material, choice.nozzle)
        for choice, feed in zip(choices, job.feeds, strict=True)
    }
    heads = tuple(replace(head, mounted=mounted.get(head.id, head.mounted)) for head in printer.heads)
    return begun, replace(
        printer,
        heads=heads,
        chamber_now_c=round(_chamber_c(stage, into_min, each, printer, site.ambient_c), 1),
        free_at=max(site.plan_start, steps[-1].end),
    )
