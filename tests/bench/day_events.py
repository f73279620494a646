"""What happens to a shop in a day: seven kinds of events, each a new shop and a line of words.

Every event works on a shop that has been moved on to the minute (`advance`). Where a kind finds nothing to
happen to, or would make a shop that no file could describe, another kind is drawn.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta

from scheduler.model import Job, Scenario, Step
from scheduler.model.codec import scenario_offences
from scheduler.planning.situations import machine_down, person_less, rush_job

#: How often another event is drawn before a day passes quietly on.
PATIENCE = 50
#: A rush job is due so soon and weighs so much.
RUSH_DUE_H, RUSH_WEIGHT = 24.0, 3.0
MINUTE = timedelta(minutes=1)
#: Somebody clears a failed print away, hours.
CLEARING_H = 0.5


@dataclass(frozen=True)
class Event:
    """What happened, to which printer if to one, and the shop after it."""

    words: str
    printer: str | None
    shop: Scenario


def event(shop: Scenario, rng: random.Random) -> Event:
    """The next event of a day.

    Raises
    ------
    ValueError
        If nothing of all this can happen to the shop any more.
    """
    for _ in range(PATIENCE):
        found = rng.choice(KINDS)(shop, rng)
        if found is not None and found.shop.jobs and not scenario_offences(found.shop):
            return found
    raise ValueError(f"no event fits the shop of {shop.site.plan_start.isoformat()}")


def _down(shop: Scenario, rng: random.Random) -> Event | None:
    printer, hours = rng.choice(shop.printers).id, rng.randint(2, 12)
    return Event(f"{printer} down for {hours} h", printer, machine_down(shop, printer, hours))


def _printing(shop: Scenario) -> list[Job]:
    """Jobs whose print runs now."""
    now = shop.site.plan_start
    return [
        job
        for job in shop.jobs
        if job.progress is not None
        and job.progress.steps[-1].kind == "print"
        and job.progress.steps[-1].end > now
    ]


def _failed(shop: Scenario, rng: random.Random) -> Event | None:
    if not (running := _printing(shop)):
        return None
    job = rng.choice(running)
    assert job.progress is not None
    printer = job.progress.printer
    return Event(f"{job.id} failed on {printer}", printer, machine_down(shop, printer, CLEARING_H))


def _longer(shop: Scenario, rng: random.Random) -> Event | None:
    if not (running := _printing(shop)):
        return None
    job = rng.choice(running)
    assert job.progress is not None
    *before, printing = job.progress.steps
    more = timedelta(
        minutes=round((printing.end - printing.start).total_seconds() / 60 * rng.uniform(0.1, 0.4))
    )
    steps = (*before, Step("print", printing.start, printing.end + more))
    late = replace(job, progress=replace(job.progress, steps=steps))
    jobs = tuple(late if one.id == job.id else one for one in shop.jobs)
    words = f"{job.id} prints {more // MINUTE} min longer"
    return Event(words, job.progress.printer, replace(shop, jobs=jobs))


def _idle_spools(shop: Scenario) -> list[int]:
    """Spools that nothing under way holds."""
    held = {spool for run in shop.under_way.dryer_runs for spool in run.spools}
    held |= {c.spool for job in shop.jobs if job.progress is not None for c in job.progress.feeds}
    return [at for at, spool in enumerate(shop.spools) if spool.id not in held and spool.grams > 0]


def _wet(shop: Scenario, rng: random.Random) -> Event | None:
    dry = [at for at in _idle_spools(shop) if shop.spools[at].dried]
    if not dry:
        return None
    at = rng.choice(dry)
    spools = list(shop.spools)
    spools[at] = replace(spools[at], dried=False, exposed_min=0)
    return Event(f"spool {spools[at].id} wet", None, replace(shop, spools=tuple(spools)))


def _empty(shop: Scenario, rng: random.Random) -> Event | None:
    if not (idle := _idle_spools(shop)):
        return None
    at = rng.choice(idle)
    spools = list(shop.spools)
    spools[at] = replace(spools[at], grams=0.0)
    return Event(f"spool {spools[at].id} empty", None, replace(shop, spools=tuple(spools)))


def _rush(shop: Scenario, rng: random.Random) -> Event | None:
    like = rng.choice(shop.jobs).id
    hit, id = rush_job(shop, like, RUSH_DUE_H, RUSH_WEIGHT)
    return Event(f"rush job {id}", None, hit)


def _ill(shop: Scenario, rng: random.Random) -> Event | None:
    now = shop.site.plan_start
    near = [at for at, shift in enumerate(shop.shifts) if now < shift.end <= now + timedelta(hours=24)]
    if not near:
        return None
    at = rng.choice(near)
    return Event(f"somebody ill, shift of {shop.shifts[at].start:%a %H:%M}", None, person_less(shop, at))


Kind = Callable[[Scenario, random.Random], Event | None]
KINDS: tuple[Kind, ...] = (_down, _failed, _longer, _wet, _empty, _rush, _ill)
