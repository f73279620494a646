"""What a demo does once it is served: its quotes, made in a process of their own."""

from __future__ import annotations

import threading
from collections.abc import Callable

from scheduler.office.clock import Clock
from scheduler.store import Record
from web.demo_quotes import make_demo_quotes
from workers.asking import Asking

#: Seconds between two looks.
LOOK_S = 0.5


class DemoQuotes:
    """Waits for the compiled search, and for the better plan that comes with it; then makes the quotes.

    Parameters
    ----------
    ready : callable
        True once the compiled search is there.
    better : bool
        Whether a better plan than the first is made then.
    """

    def __init__(
        self, record: Record, clock: Clock, url: str, ready: Callable[[], bool], better: bool
    ) -> None:
        self._record, self._clock, self._url = record, clock, url
        self._ready, self._better = ready, better
        self._over = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self, asking: Asking) -> None:
        """Begin to wait."""
        self._thread = threading.Thread(target=self._work, args=(asking,), name="demo quotes", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Give up, wherever it is."""
        self._over.set()
        if self._thread is not None:
            self._thread.join(timeout=10)

    def _work(self, asking: Asking) -> None:
        while not (self._ready() and self._settled()):
            if self._over.wait(LOOK_S):
                return
        asking.ask(("demo quotes",), self._clock(), make_demo_quotes, self._url)

    def _settled(self) -> bool:
        """Whether no plan is being made, and none waits to be published."""
        with self._record.reading() as unit:
            plans = unit.plans.list()
            open_runs = unit.runs.open()
        made = len(plans) > 1 or not self._better
        return made and not open_runs and not any(plan.state == "proposal" for plan in plans)
