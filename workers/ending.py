"""Holds of quotes end by themselves, also while nobody looks at the pages."""

from __future__ import annotations

import logging
import threading

from scheduler.model.errors import SoaklineError
from scheduler.office.clock import Clock
from scheduler.office.quotes.expiry import expire_holds
from scheduler.store import Record

#: Seconds between two looks at the clock.
LOOK_S = 20.0

log = logging.getLogger(__name__)


class EndingHolds:
    """Gives back what was held for too long, from a thread of its own.

    Parameters
    ----------
    look_s : float
        Seconds between two looks.
    """

    def __init__(self, record: Record, clock: Clock, look_s: float = LOOK_S) -> None:
        self._record = record
        self._clock = clock
        self._look_s = look_s
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._work, name="ending holds", daemon=True)

    def start(self) -> None:
        """Begin to look."""
        self._thread.start()

    def close(self) -> None:
        """Look no more."""
        self._over.set()
        self._thread.join(timeout=10)

    def _work(self) -> None:
        while not self._over.wait(self._look_s):
            try:
                for number in expire_holds(self._record, self._clock):
                    log.info("the hold of Q-%d has ended", number)
            except SoaklineError as error:
                # The next look, or the next command of the desk, does it.
                log.warning("holds that ended could not be given back: %s", error)
