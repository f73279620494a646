"""Stretches of time that must run forwards, and runs that must have begun."""

from __future__ import annotations

import zoneinfo
from collections.abc import Iterator
from datetime import datetime

from scheduler.model.codec.offences import Found, named
from scheduler.model.codec.rules.lens import Place, child, entries, instant, name


def plan_start(raw: object) -> datetime | None:
    """The instant at which planning begins, if it can be read."""
    return next((instant(site, "plan_start") for _, site in child(raw, "site")), None)


def scenario_times(raw: object) -> Iterator[Found]:
    """The zone, shifts, downtime and runs under way."""
    for path, site in child(raw, "site"):
        zone = name(site, "timezone")
        if zone is not None and not _known_zone(zone):
            yield (*path, "timezone"), f"there is no time zone {named(zone)}"
    for place in entries(raw, "shifts"):
        yield from forwards(place, "shift", may_be_empty=False)
    for key in ("printers", "dryers", "ovens"):
        for path, machine in entries(raw, key):
            for place in entries(machine, "downtime", path):
                yield from forwards(place, "downtime")
    for path, under_way in child(raw, "under_way"):
        for key in ("dryer_runs", "oven_runs"):
            for place in entries(under_way, key, path):
                yield from forwards(place, "run")
                yield from begun(place, "the run", plan_start(raw))


def forwards(place: Place, what: str, *, may_be_empty: bool = True) -> Iterator[Found]:
    """An offence if a stretch ends before it starts, or has no length where it must have some."""
    path, stretch = place
    start, end = instant(stretch, "start"), instant(stretch, "end")
    if start is None or end is None:
        return
    if end < start:
        yield (*path, "end"), f"the {what} ends at {stretch['end']}, before it starts at {stretch['start']}"
    elif end == start and not may_be_empty:
        yield (*path, "end"), f"the {what} ends at {stretch['end']}, when it starts"


def begun(place: Place, what: str, now: datetime | None) -> Iterator[Found]:
    """An offence if something under way starts at ``plan_start`` or after."""
    path, stretch = place
    start = instant(stretch, "start")
    if start is not None and now is not None and start >= now:
        yield (
            (*path, "start"),
            f"{what} is under way, yet starts at {stretch['start']}, not before plan_start",
        )


def _known_zone(key: str) -> bool:
    try:
        zoneinfo.ZoneInfo(key)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True
