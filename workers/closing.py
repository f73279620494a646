"""Closing runs in the record when the process that should have done it can't."""

from __future__ import annotations

import logging
from datetime import datetime

from scheduler.store import Record, RunState

#: States of a run that is not over.
OPEN_STATES: tuple[RunState, ...] = ("waiting", "working")

log = logging.getLogger(__name__)


def close_run(record: Record, at: datetime, run_id: int, state: RunState, message: str) -> bool:
    """Set an open run to ``state`` ("failed" or "stopped") and say why; False if it was over."""
    with record.writing() as unit:
        run = unit.runs.get(run_id)
        if run is None or run.state not in OPEN_STATES:
            return False
        unit.runs.update(run_id, state=state, message=message, ended_at=at)
    log.warning("planning run %d %s: %s", run_id, state, message)
    return True
