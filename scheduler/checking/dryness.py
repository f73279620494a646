"""Spools are dry when they are mounted, and not too long in room air when a print ends."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from scheduler.checking.breach import Breach
from scheduler.checking.view import PRINT, Drying, Mount, View
from scheduler.model import Spool


def last_run(view: View, spool: Spool, minute: int) -> Drying | None:
    """The run that last dried the spool by ``minute``; one ended by ``plan_start`` is told by ``dried``."""
    ended = [drying for drying in view.dryings_of.get(spool.id, ()) if 0 < drying.end <= minute]
    return max(ended, key=lambda drying: drying.end, default=None)


def exposure_minutes(view: View, spool: Spool, minute: int) -> int | None:
    """Minutes in room air since it was dried; ``None`` if it is not dried."""
    site = view.scenario.site
    run = last_run(view, spool, minute)
    if run is not None:
        since, exposed = run.end, 0
    elif spool.dried:
        since, exposed = max(0, site.minute(spool.available_from)), spool.exposed_min
    else:
        return None
    dryings, mounts = view.dryings_of.get(spool.id, []), view.mounts.get(spool.id, [])
    edges = {since, minute}
    stays: list[Drying | Mount] = [*dryings, *mounts]
    for stay in stays:
        edges.update((stay.start, stay.end))
    for start, end in pairwise(sorted(edge for edge in edges if since <= edge <= minute)):
        if any(drying.start <= start < drying.end for drying in dryings):
            continue
        heads = [mount.head for mount in mounts if mount.start <= start < mount.end]
        if any(not head.dry_feed for head in heads) or (not heads and not site.dry_storage):
            exposed += end - start
    return exposed


def check_dryness(view: View) -> Iterator[Breach]:
    """For materials with drying rows, as far as mount and print have not begun."""
    for stint in view.stints.values():
        for feed, spool in enumerate(stint.spools):
            material = stint.materials[feed]
            if not material.drying or stint.begun > PRINT:
                continue
            if not stint.under_way and exposure_minutes(view, spool, stint.first) is None:
                text = f"spool {spool.id} is not dried when it is mounted, {view.when(stint.first)}"
                yield Breach("dryness", stint.who, text, (stint.job.id,))
                continue
            limit, end = material.open_time_min, stint.ends[PRINT]
            exposed = exposure_minutes(view, spool, end)
            if limit is not None and exposed is not None and exposed > limit:
                text = (
                    f"spool {spool.id} is exposed {exposed} min at the print's end, {view.when(end)}, "
                    f"open time: {limit} min"
                )
                yield Breach("dryness", stint.who, text, (stint.job.id,))
