"""Are promises kept as often as they say?"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from scheduler.quoting.records import PromiseRecord

#: 95 % of a normal distribution lie within so many standard deviations.
Z = 1.959964
#: What one promise moves the level at which dates are read, as a part of its surprise; so many promises
#: one over this are needed for most of a correction, and few can't do much.
GAIN = 0.02
#: A level is no further below the promised chance than this, and never above the other.
LEAST_BELOW, MOST_LEVEL = 0.1, 0.98


@dataclass(frozen=True, slots=True)
class HitRate:
    """How often dates of one chance were kept, with Wilson's 95 % interval.

    ``open`` promises are those whose date has not come; they count nowhere.
    """

    quantile: float
    kept: int
    decided: int
    open: int
    low: float
    high: float

    @property
    def rate(self) -> float | None:
        """Share kept; ``None`` before any is decided."""
        return self.kept / self.decided if self.decided else None

    @property
    def verdict(self) -> str:
        """In plain words, whether the promised chance lies within the interval."""
        if not self.decided:
            return "nothing decided yet"
        if self.high < self.quantile:
            return "kept less often than promised"
        if self.low > self.quantile:
            return "kept more often than promised"
        return "as promised, as far as so many tell"


def wilson(kept: int, decided: int) -> tuple[float, float]:
    """95 % interval of a share (Wilson 1927); all of 0 to 1 before anything is decided."""
    if decided == 0:
        return 0.0, 1.0
    share, room = kept / decided, Z**2 / decided
    middle = (share + room / 2) / (1 + room)
    half = math.sqrt(share * (1 - share) / decided + room / (4 * decided)) * Z / (1 + room)
    return max(0.0, middle - half), min(1.0, middle + half)


def hit_rates(
    promises: Iterable[PromiseRecord], now: datetime, since: datetime | None = None
) -> tuple[HitRate, ...]:
    """Hit rates by the chance promised, the lowest first.

    Parameters
    ----------
    since : datetime or None
        Promises given earlier are left out.
    """
    groups: dict[float, list[bool | None]] = {}
    for promise in promises:
        if since is None or promise.promised_at >= since:
            groups.setdefault(promise.quantile, []).append(promise.kept(now))
    rates = []
    for quantile in sorted(groups):
        fates = groups[quantile]
        kept, open_ = sum(fate is True for fate in fates), sum(fate is None for fate in fates)
        decided = len(fates) - open_
        rates.append(HitRate(quantile, kept, decided, open_, *wilson(kept, decided)))
    return tuple(rates)


def levels(
    promises: Iterable[PromiseRecord],
    now: datetime,
    chances: Sequence[float],
    since: datetime | None = None,
) -> dict[float, float]:
    """At which chance of the forecast a date is read, so that promises are kept as often as they say.

    Whatever the forecast does not know of (rush plates, absences, habits) shows in the promises: in the
    order of their dates a missed one raises the level of its chance a little and a kept one lowers it less,
    so that in the long run the share kept is the chance promised (adaptive conformal inference, I. Gibbs
    and E. Candès, NeurIPS 2021). Before any promise is decided a level is its chance.

    Parameters
    ----------
    chances : sequence of float
        Those that dates are promised with.
    since : datetime or None
        Promises given earlier are left out.
    """
    found = {chance: chance for chance in chances}
    for promise in sorted(promises, key=lambda one: (one.promised_for, one.promised_at)):
        kept, chance = promise.kept(now), promise.quantile
        if kept is None or chance not in found or (since is not None and promise.promised_at < since):
            continue
        level = found[chance] + GAIN * (chance - (1.0 if kept else 0.0))
        found[chance] = max(chance - LEAST_BELOW, min(max(chance, MOST_LEVEL), level))
    # A surer date is no sooner one.
    rising = dict(found)
    for lower, higher in pairwise(sorted(rising)):
        rising[higher] = max(rising[lower], rising[higher])
    return rising
