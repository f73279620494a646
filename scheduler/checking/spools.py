"""A spool is in one place at a time and gives no more than it holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from scheduler.checking.breach import Breach
from scheduler.checking.view import PRINT, View

#: Draws and stock agree to this, grams.
TOLERANCE_G = 1e-6


def check_places(view: View) -> Iterator[Breach]:
    """Runs and mounts of a spool never overlap; a job's feeds use different spools."""
    for stint in view.stints.values():
        if not stint.under_way and len({spool.id for spool in stint.spools}) < len(stint.spools):
            text = f"both feeds use spool {stint.spools[0].id}"
            yield Breach("spools", stint.who, text, (stint.job.id,))
    for drying in view.dryings:
        for spool_id, times in Counter(spool.id for spool in drying.spools).items():
            if times > 1 and not drying.begun:
                yield Breach("spools", f"spool {spool_id}", f"{drying.who} names it {times} times")
    for spool_id in view.spools:
        stays: list[tuple[int, int, str, bool, tuple[str, ...]]] = [
            (mount.start, mount.end, mount.stint.who, mount.stint.under_way, (mount.stint.job.id,))
            for mount in view.mounts.get(spool_id, ())
        ]
        stays += [
            (drying.start, drying.end, drying.who, drying.begun, ())
            for drying in view.dryings_of.get(spool_id, ())
        ]
        # A stay that ends before it starts is reported with its steps.
        stays = sorted((stay for stay in stays if stay[0] < stay[1]), key=lambda stay: stay[:2])
        before = None
        for stay in stays:
            start, end, who, begun, jobs = stay
            if before is not None and start < before[1] and who != before[2] and not (begun and before[3]):
                text = (
                    f"{who} has it from {view.between(start, end)}, "
                    f"{before[2]} from {view.between(before[0], before[1])}"
                )
                yield Breach("spools", f"spool {spool_id}", text, jobs + before[4])
            if before is None or end > before[1]:
                before = stay


def check_draws(view: View) -> Iterator[Breach]:
    """The prints that had not ended at ``plan_start`` draw no more than there was."""
    for spool_id, mounts in view.mounts.items():
        there, drawn = view.spools[spool_id].grams, 0.0
        for mount in sorted(mounts, key=lambda mount: mount.stint.starts[PRINT]):
            stint = mount.stint
            begun = stint.begun > PRINT
            if begun and stint.ends[PRINT] <= 0:
                continue
            drawn += stint.job.feeds[mount.feed].grams
            if not begun and drawn > there + TOLERANCE_G:
                text = f"with {stint.who} {drawn:g} g are drawn, it holds {there:g} g"
                yield Breach("spools", f"spool {spool_id}", text, (stint.job.id,))
