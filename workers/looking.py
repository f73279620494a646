"""A thread of its own that looks now and then, until it is closed."""

from __future__ import annotations

import threading
from abc import ABC, abstractmethod

from scheduler.office.clock import Clock
from scheduler.store import Record
from workers.closing import OPEN_STATES

#: Seconds between two looks at a planning run that is waited for.
RUN_LOOK_S = 0.3


class Looking(ABC):
    """What everybody shares who works beside the pages; ``work`` is each one's own.

    Parameters
    ----------
    name : str
        Of the thread, as logs show it.
    look_s : float
        Seconds between two looks.
    """

    def __init__(self, record: Record, clock: Clock, name: str, look_s: float) -> None:
        self._record = record
        self._clock = clock
        self._look_s = look_s
        self._over = threading.Event()
        self._thread = threading.Thread(target=self.work, name=name, daemon=True)

    def start(self) -> None:
        """Begin to look."""
        self._thread.start()

    def close(self) -> None:
        """Look no more, wherever it is."""
        self._over.set()
        self._thread.join(timeout=10)

    @abstractmethod
    def work(self) -> None:
        """Look until `rest` tells that it is over."""

    def rest(self, seconds: float | None = None) -> bool:
        """Wait for the next look, or for some seconds; True once it is over."""
        return self._over.wait(self._look_s if seconds is None else seconds)

    def plan_of(self, run_id: int) -> int | None:
        """Number of the plan that a planning run makes; ``None`` if it makes none, or if it is over."""
        while True:
            with self._record.reading() as unit:
                run = unit.runs.get(run_id)
            if run is None or run.state not in OPEN_STATES:
                return run.plan_number if run else None
            if self.rest(RUN_LOOK_S):
                return None
