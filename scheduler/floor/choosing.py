"""Head, nozzle and spool for each feed of a job on a machine as it stands."""

from __future__ import annotations

from scheduler.floor.scene import Scene
from scheduler.floor.spool_rules import hard_reasons, soft_reasons
from scheduler.floor.things import FloorSpool
from scheduler.matching import Matcher
from scheduler.model import FeedChoice, Job, Printer

#: Checks whose answer changes with the hour: the floor asks them anew.
OF_THE_HOUR = frozenset({"spool", "oven", "open_time", "staffed"})


def matcher_of(scene: Scene) -> Matcher:
    """The matcher of the ground, made once."""
    found = scene.ground.memo.get("matcher")
    if found is None:
        found = scene.ground.memo["matcher"] = Matcher(scene.ground.scenario)
    assert isinstance(found, Matcher)
    return found


def misfits(scene: Scene, job: Job, machine: Printer) -> list[str]:
    """Why a machine can't print a job whatever lies ready, in words."""
    key = ("misfits", job.id, machine.id)
    found = scene.ground.memo.get(key)
    if found is None:
        failures = matcher_of(scene).failures(job.id, machine.id)
        found = [reason.text for reason in failures if reason.check not in OF_THE_HOUR]
        scene.ground.memo[key] = found
    assert isinstance(found, list)
    return found


def choices(scene: Scene, job: Job, machine: Printer) -> tuple[FeedChoice, ...] | None:
    """What the published plan takes there, else the first heads and nozzles that fit with the best spools.

    Returns
    -------
    tuple of FeedChoice or None
        ``None`` if no heads and nozzles fit, or a feed has no spool of its material.
    """
    planned = scene.ground.planned.get(job.id)
    if planned is not None and planned.printer == machine.id:
        return planned.feeds
    ways = matcher_of(scene).assignments(job.id, machine.id)
    if not ways:
        return None
    chosen: list[FeedChoice] = []
    for feed, place in enumerate(ways[0].feeds):
        spool = best_spool(scene, job, feed, machine, place.head, {choice.spool for choice in chosen})
        if spool is None:
            return None
        chosen.append(FeedChoice(place.head, place.nozzle, spool))
    return tuple(chosen)


def best_spool(scene: Scene, job: Job, feed: int, machine: Printer, head: str, but: set[str]) -> str | None:
    """The spool with the fewest reasons against it, then the least on it; ``None`` if none can be used."""
    whole = round(job.print_min * machine.speed_factor) + 60
    ranked = []
    for stock in scene.ground.scenario.spools:
        if stock.material != job.feeds[feed].material or stock.id in but:
            continue
        spool: FloorSpool = scene.things.spool(stock.id)
        if hard_reasons(scene, job, feed, spool, machine.id):
            continue
        soft = soft_reasons(scene, job, feed, spool, machine, head, whole)
        ranked.append((len(soft), spool.grams, stock.id))
    return min(ranked)[2] if ranked else None
