"""What happens reaches open pages: one thread looks, every stream is told."""

from __future__ import annotations

import json
import logging
import threading
import time
from collections.abc import Callable, Iterator

from scheduler.model.errors import SoaklineError
from scheduler.store import Record

#: Seconds between two looks at the record; an event of this server's own is told at once.
LOOK_S = 0.5
#: A stream looks so often whether somebody still listens, seconds.
STEP_S = 1.0
#: A quiet stream says so often that it is alive, seconds.
HEARTBEAT_S = 5.0
#: Streams at once; a page beyond asks every few seconds instead.
MOST_STREAMS = 220

log = logging.getLogger(__name__)


class Live:
    """A mark that changes with every event, and streams that tell of it.

    The looking thread begins with the first stream and ends when nobody has listened for a while.
    """

    def __init__(self, record: Record) -> None:
        self._record = record
        self._changed = threading.Condition()
        self._mark = ""
        self._streams = 0
        self._thread: threading.Thread | None = None
        self._poked = threading.Event()
        self._closed = False

    def mark(self) -> str:
        """The present mark: another one, and something has changed."""
        with self._record.reading() as unit:
            state = unit.floor.state()
            proposal = unit.plans.newest_number()
            return (
                f"{unit.fleet.version()}.{unit.plans.published_number() or 0}.{proposal}"
                f".{state.last_event if state else 0}"
            )

    def poke(self) -> None:
        """Something was changed here; look now."""
        self._poked.set()

    def close(self) -> None:
        """End every stream, because the server ends."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        self._poked.set()

    def stream(self, gone: Callable[[], bool] = lambda: False) -> Iterator[str] | None:
        """Lines of a server-sent event stream; ``None`` if there are enough streams.

        Parameters
        ----------
        gone : callable
            True once nobody listens any more.
        """
        with self._changed:
            if self._streams >= MOST_STREAMS:
                return None
            self._streams += 1
            if self._thread is None or not self._thread.is_alive():
                self._thread = threading.Thread(target=self._look, name="live", daemon=True)
                self._thread.start()
        return self._lines(gone)

    def _lines(self, gone: Callable[[], bool]) -> Iterator[str]:
        known, spoke = "", time.monotonic()
        try:
            yield "retry: 2000\n\n"
            while not self._closed and not gone():
                with self._changed:
                    if self._mark == known and not self._closed:
                        self._changed.wait(STEP_S)
                    mark = self._mark
                if mark != known:
                    known, spoke = mark, time.monotonic()
                    yield f"event: mark\ndata: {json.dumps({'mark': mark, 'sent': time.time()})}\n\n"
                elif time.monotonic() - spoke > HEARTBEAT_S:
                    spoke = time.monotonic()
                    yield "event: quiet\ndata: 1\n\n"
        finally:
            with self._changed:
                self._streams -= 1

    def _look(self) -> None:
        idle_since = time.monotonic()
        while not self._closed:
            try:
                mark = self.mark()
            except SoaklineError as error:
                log.warning("the record can't be looked at: %s", error)
                mark = self._mark
            with self._changed:
                if mark != self._mark:
                    self._mark = mark
                    self._changed.notify_all()
                if self._streams:
                    idle_since = time.monotonic()
                elif time.monotonic() - idle_since > 60:
                    self._thread = None
                    return
            self._poked.wait(LOOK_S)
            self._poked.clear()
