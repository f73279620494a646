"""Holds of quotes end by themselves, also while nobody looks at the pages."""

from __future__ import annotations

import logging

from scheduler.model.errors import SoaklineError
from scheduler.office.clock import Clock
from scheduler.office.quotes.expiry import expire_holds
from scheduler.store import Record
from workers.looking import Looking

#: Seconds between two looks at the clock.
LOOK_S = 20.0

log = logging.getLogger(__name__)


class EndingHolds(Looking):
    """Gives back what was held for too long, from a thread of its own.

    Parameters
    ----------
    look_s : float
        Seconds between two looks.
    """

    def __init__(self, record: Record, clock: Clock, look_s: float = LOOK_S) -> None:
        super().__init__(record, clock, "ending holds", look_s)

    def work(self) -> None:
        """Give back what is due, look after look."""
        while not self.rest():
            try:
                for number in expire_holds(self._record, self._clock):
                    log.info("the hold of Q-%d has ended", number)
            except SoaklineError as error:
                # The next look, or the next command of the desk, does it.
                log.warning("holds that ended could not be given back: %s", error)
