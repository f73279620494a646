"""Closing runs in the record when the process that should have done it can't."""

from __future__ import annotations

import logging

from scheduler.store import Record

OPEN_STATES = ("waiting", "working")

log = logging.getLogger(__name__)


def close_run(record: Record, run_id: int, state: str, message: str) -> bool:
    """Set an open run to ``state`` ("failed" or "stopped") and say why; False if it was over."""
    with record.writing() as unit:
        run = unit.runs.get(run_id)
        if run is None or run.state not in OPEN_STATES:
            return False
        unit.runs.update(run_id, state=state, message=message)
    log.warning("planning run %d %s: %s", run_id, state, message)
    return True
