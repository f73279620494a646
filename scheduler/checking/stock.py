"""A job is left out for want of stock only if stock is wanting beside the rest of the plan."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from scheduler.checking.breach import Breach
from scheduler.checking.spools import TOLERANCE_G
from scheduler.checking.view import PRINT, View
from scheduler.matching import Matcher
from scheduler.model import Job


def check_stock(view: View, matcher: Matcher) -> Iterator[Breach]:
    """No unplaced job says ``stock`` while every feed still finds a spool of its own."""
    left = grams_left(view)
    for unplaced in view.plan.unplaced:
        job = view.jobs.get(unplaced.job)
        if job is None or not any(reason.check == "stock" for reason in unplaced.reasons):
            continue
        # A begun job is never left out, whatever for: that is told with what is under way.
        if job.progress is not None or not matcher.fits_something(job.id):
            continue
        lots = lots_asked(view, job)
        found = []
        for number, feed in enumerate(job.feeds):
            spools = [s for s in matcher.spools(job.id, number) if left[s] + TOLERANCE_G >= feed.grams]
            if number == 0 and lots:
                spools = [s for s in spools if {view.spools[s].lot} == lots]
            found.append(spools)
        pair = next((pick for pick in product(*found) if len(set(pick)) == len(pick)), None)
        if pair is not None:
            told = " and ".join(f"spool {spool} with {left[spool]:g} g left" for spool in pair)
            yield Breach("complete", f"job {job.id}", f"it is unplaced for want of stock; there is {told}")


def grams_left(view: View) -> dict[str, float]:
    """What the placed jobs leave on each spool, g."""
    left = {spool.id: spool.grams for spool in view.spools.values()}
    for spool_id, mounts in view.mounts.items():
        for mount in mounts:
            stint = mount.stint
            if stint.begun <= PRINT or stint.ends[PRINT] > 0:
                left[spool_id] -= stint.job.feeds[mount.feed].grams
    return left


def lots_asked(view: View, job: Job) -> set[str]:
    """The lots to which placed jobs bind this one."""
    partners = [view.stints.get(job.same_lot_as or "")]
    partners += [
        stint for stint in view.stints.values() if stint.job.same_lot_as == job.id and not stint.under_way
    ]
    return {stint.spools[0].lot for stint in partners if stint is not None}
