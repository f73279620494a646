"""How many wrong tries are borne, and how long one must wait then.

A try is counted before its secret is looked at, so tries sent at once can't slip past the limit; one
that is refused for its time is not counted, so waiting always ends. A right password, or a one-time
link, forgives all wrong tries of its person; a right PIN those of the PIN.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta


@dataclass(frozen=True, slots=True)
class Patience:
    """The limit for one kind of wrong try.

    Parameters
    ----------
    free : int
        Wrong tries in a row before the first wait.
    first_wait, longest_wait : timedelta
        The wait after the last free try; each further wrong try doubles it, up to the longest.
    remembers : timedelta
        Older wrong tries count no more.
    most : int or None
        After so many the way is shut until somebody opens it by hand.
    """

    free: int
    first_wait: timedelta
    longest_wait: timedelta
    remembers: timedelta
    most: int | None = None


#: Of one person's password: 5, then 1, 2, 4, 8, 15, 15 ... minutes.
PASSWORD = Patience(5, timedelta(minutes=1), timedelta(minutes=15), timedelta(hours=24))
#: Of one person's PIN, which is short: 5, then minutes as above, shut after 10.
PIN = Patience(5, timedelta(minutes=1), timedelta(minutes=15), timedelta(days=30), most=10)
#: Of one network address, whoever it claims to be: 30 in a quarter of an hour. A whole shop may share one.
CLIENT = Patience(30, timedelta(minutes=5), timedelta(minutes=15), timedelta(minutes=15))


@dataclass(frozen=True, slots=True)
class Hold:
    """No try is taken until an instant; ``None`` means until somebody opens the way by hand."""

    until: datetime | None


def hold(failures: Sequence[datetime], now: datetime, patience: Patience) -> Hold | None:
    """Whether the next try must wait.

    Parameters
    ----------
    failures : sequence of datetime
        Wrong tries since the last right one, in any order.

    Returns
    -------
    Hold or None
        ``None`` if a try may be made at ``now``.
    """
    counted = [at for at in failures if now - at < patience.remembers]
    if patience.most is not None and len(counted) >= patience.most:
        return Hold(None)
    over = len(counted) - patience.free
    if over < 0:
        return None
    # Doubled at most so often that the longest wait is surely reached; more would overflow.
    wait = min(patience.first_wait * 2 ** min(over, 20), patience.longest_wait)
    until = max(counted) + wait
    return Hold(until) if now < until else None
