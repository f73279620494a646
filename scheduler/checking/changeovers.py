"""A changeover lasts exactly what the heads' last spool, material and nozzle make it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.checking.breach import Breach
from scheduler.checking.view import CHANGEOVER, Drying, Mount, Stint, View


@dataclass(frozen=True, slots=True)
class _Before:
    """What was last on a head, and since when it may have been elsewhere, minutes."""

    spool: str | None
    material: str | None
    nozzle: str | None
    since: int


def check_changeovers(view: View) -> Iterator[Breach]:
    """The exact length of every changeover that has not begun."""
    for stint in view.stints.values():
        if stint.under_way or stint.length(CHANGEOVER) < 0:
            continue
        asked, parts = changeover_minutes(view, stint)
        if stint.length(CHANGEOVER) != asked:
            text = f"changeover lasts {stint.length(CHANGEOVER)} min, asked for: {asked} min ({parts})"
            yield Breach("changeover", stint.who, text, (stint.job.id,))


def changeover_minutes(view: View, stint: Stint) -> tuple[int, str]:
    """Minutes of a changeover, and what they are made of in words."""
    site = view.scenario.site
    total, parts = site.plate_min, [f"plate {site.plate_min}"]
    for mount in _mounts(stint):
        before = _before(view, mount)
        spool, material = stint.spools[mount.feed].id, stint.materials[mount.feed].id
        added = []
        if before.spool != spool or _elsewhere_since(view, mount, before.since):
            added.append(("spool", site.spool_swap_min))
        if before.material is not None and before.material != material:
            added.append(
                (f"purge {before.material} to {material}", purge_minutes(view, before.material, material))
            )
        if before.nozzle != stint.nozzles[mount.feed]:
            added.append(("nozzle", site.nozzle_swap_min))
        total += sum(minutes for _, minutes in added)
        parts += [f"{mount.head.id} {what} {minutes}" for what, minutes in added]
    return total, ", ".join(parts)


def _mounts(stint: Stint) -> Iterator[Mount]:
    for feed in range(len(stint.spools)):
        yield Mount(stint, feed, stint.first, stint.last)


def _before(view: View, mount: Mount) -> _Before:
    last: Mount | None = None
    for other in view.on_head[mount.place]:
        if other.stint is mount.stint or other.start > mount.start:
            break
        # What had ended by plan_start is told by the head's own state.
        if other.end > 0 or not other.stint.under_way:
            last = other
    if last is None:
        mounted = mount.head.mounted
        return _Before(mounted.spool, mounted.material, mounted.nozzle, 0)
    stint, feed = last.stint, last.feed
    return _Before(stint.spools[feed].id, stint.materials[feed].id, stint.nozzles[feed], last.end)


def _elsewhere_since(view: View, mount: Mount, since: int) -> bool:
    """True if the spool has been in a dryer, or on another head, between ``since`` and the mount."""
    spool = mount.stint.spools[mount.feed].id
    elsewhere: list[Drying | Mount] = [*view.dryings_of[spool]]
    elsewhere += [other for other in view.mounts[spool] if other.place != mount.place]
    return any(max(since, stay.start) < min(stay.end, mount.start) for stay in elsewhere)


def purge_minutes(view: View, source: str, target: str) -> int:
    """Minutes to purge ``source`` out of a head before ``target``."""
    site = view.scenario.site
    for purge in site.purges:
        if purge.source == source and purge.target == target:
            return purge.minutes
    return site.purge_min
