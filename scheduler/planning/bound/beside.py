"""The stronger bound, worked out beside the search."""

from __future__ import annotations

import threading
from collections.abc import Callable
from types import TracebackType

from scheduler.planning.bound.prices import Prices, is_small
from scheduler.planning.bound.stronger import climb
from scheduler.planning.construct import Base
from scheduler.planning.kernel.tables import PRICED

#: A search shorter than this is not slowed down by a second work, seconds; in a larger shop not by prices.
LEAST_S, PRICES_LARGER_S = 4.0, 30.0


class Beside:
    """Looks for a stronger bound in a thread while its block runs; the search holds no interpreter lock.

    Parameters
    ----------
    base : Base
        Of the task.
    tell : callable
        Told each better bound, late hours.
    seconds : float
        How long the search may take; with too little, or in too large a shop, nothing is done.

    Attributes
    ----------
    prices : Prices or None
        Of machines' minutes, once there are some; they get better meanwhile.
    """

    prices: Prices | None = None

    def __init__(self, base: Base, tell: Callable[[float], None], seconds: float) -> None:
        P = base.task.problem
        self.task, self.tell = base.task, tell
        self.prices_too = is_small(P) or seconds >= PRICES_LARGER_S
        self.over = threading.Event()
        self.thread: threading.Thread | None = None
        if seconds >= LEAST_S and P.jobs * P.printers <= PRICED:
            self.thread = threading.Thread(target=self._climb, name="bound", daemon=True)

    def _climb(self) -> None:
        climb(Base(self.task), self.over.is_set, self.tell, self.prices_too, self._keep)

    def _keep(self, prices: Prices) -> None:
        self.prices = prices

    def __enter__(self) -> Beside:
        if self.thread is not None:
            self.thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.over.set()
        if self.thread is not None:
            self.thread.join()
