"""The runner that needs nothing beside the server: one child process at a time."""

from __future__ import annotations

import logging
import multiprocessing
import threading
from collections import deque
from collections.abc import Callable
from datetime import datetime
from multiprocessing.context import SpawnProcess

from scheduler.store import Record
from workers.closing import close_run

#: A child that works longer than this is ended, minutes: the planner's own limit has failed.
LIMIT_MIN = 60

log = logging.getLogger(__name__)


class InProcessRunner:
    """Works through runs in the order of their start, each in a process of its own.

    A process, not a thread, so that planning never holds up a page and can be ended at any point.
    It is spawned, not forked: the server has threads, and their locks would be copied locked.

    Parameters
    ----------
    entry : callable
        What the child calls with ``(*arguments, run_id)``'s values; importable by name.
    arguments : callable
        Gives the child's arguments for a run id.
    """

    def __init__(
        self,
        record: Record,
        clock: Callable[[], datetime],
        entry: Callable[..., None],
        arguments: Callable[[int], tuple[object, ...]],
        limit_s: float = LIMIT_MIN * 60,
    ) -> None:
        self._record = record
        self._clock = clock
        self._entry = entry
        self._arguments = arguments
        self._limit_s = limit_s
        self._context = multiprocessing.get_context("spawn")
        self._changed = threading.Condition()
        self._waiting: deque[int] = deque()
        self._current: tuple[int, SpawnProcess] | None = None
        self._closed = False
        self._thread: threading.Thread | None = None

    def start(self, run_id: int) -> None:
        """Queue the run; the first call starts the thread that minds the children."""
        with self._changed:
            if self._closed:
                raise RuntimeError("the runner is closed")
            self._waiting.append(run_id)
            if self._thread is None:
                self._thread = threading.Thread(target=self._mind, name="planning", daemon=True)
                self._thread.start()
            self._changed.notify_all()

    def stop(self, run_id: int) -> None:
        """Take the run out of the queue, or end its process, and record that it was stopped."""
        with self._changed:
            if run_id in self._waiting:
                self._waiting.remove(run_id)
            process = self._current[1] if self._current and self._current[0] == run_id else None
        # Recorded before the process ends, so that its end is not taken for a failure.
        close_run(self._record, self._clock(), run_id, "stopped", "Stopped by hand.")
        if process is not None:
            process.terminate()

    def reconcile(self) -> None:
        """Close the open runs of an earlier server: a child does not outlive its server."""
        with self._changed:
            ours = set(self._waiting) | ({self._current[0]} if self._current else set())
        with self._record.reading() as unit:
            open_runs = unit.runs.open()
        for run in open_runs:
            if run.id not in ours:
                close_run(
                    self._record,
                    self._clock(),
                    run.id,
                    "failed",
                    "The server ended while this plan was made.",
                )

    def close(self) -> None:
        """End the child, forget what waits, and let the minding thread go."""
        with self._changed:
            self._closed = True
            waiting = list(self._waiting)
            self._waiting.clear()
            current = self._current
            self._changed.notify_all()
        for run_id in waiting + ([current[0]] if current else []):
            close_run(self._record, self._clock(), run_id, "stopped", "The server was ended.")
        if current is not None:
            current[1].terminate()
        if self._thread is not None:
            self._thread.join(timeout=10)

    def _mind(self) -> None:
        while True:
            with self._changed:
                while not self._waiting and not self._closed:
                    self._changed.wait()
                if self._closed:
                    return
                run_id = self._waiting.popleft()
                process = self._context.Process(
                    target=self._entry, args=self._arguments(run_id), name=f"plan-{run_id}", daemon=True
                )
                process.start()
                self._current = (run_id, process)
            process.join(self._limit_s)
            message = f"The planning process ended early (exit code {process.exitcode})."
            if process.is_alive():
                process.kill()
                process.join()
                message = f"Still planning after {self._limit_s / 60:g} minutes, so it was ended."
            with self._changed:
                self._current = None
            try:
                # A run that its own process has closed stays as that process left it.
                close_run(self._record, self._clock(), run_id, "failed", message)
            except Exception:
                # The database may be gone for a moment; later runs must still be minded.
                log.exception("could not close planning run %d", run_id)
