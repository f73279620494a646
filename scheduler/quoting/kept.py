"""Are promises kept as often as they say?"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from scheduler.quoting.records import PromiseRecord

#: 95 % of a normal distribution lie within so many standard deviations.
Z = 1.959964


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
