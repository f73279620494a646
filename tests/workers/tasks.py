"""What child processes of the tests do, importable by name."""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime

from scheduler.store import Record


def finish(url: str, run_id: int) -> None:
    """Do the run: all there is to do is to say that it is done, and in which process."""
    with Record(url).writing() as unit:
        unit.runs.update(run_id, state="done", doing=str(os.getpid()), ended_at=datetime.now(UTC))


def linger(url: str, run_id: int) -> None:
    """Begin the run and never end."""
    with Record(url).writing() as unit:
        unit.runs.update(run_id, state="working")
    time.sleep(600)


def crash(url: str, run_id: int) -> None:
    """Begin the run and die without a word, as a process without memory does."""
    with Record(url).writing() as unit:
        unit.runs.update(run_id, state="working")
    os._exit(9)
