"""The face that every runner has."""

from __future__ import annotations

from typing import Protocol


class Runner(Protocol):
    """Carries out planning runs that :func:`scheduler.office.plans.request_plan` has recorded.

    A runner keeps no state of its own that matters: what a run has reached lives in the database,
    and a run whose process is gone is found there and closed.
    """

    def start(self, run_id: int) -> None:
        """Begin the run as soon as there is room; returns at once."""

    def stop(self, run_id: int) -> None:
        """End the run, begun or waiting; a run that is already over stays as it is."""

    def reconcile(self) -> None:
        """Close runs that the record calls open though nothing works on them any more."""

    def close(self) -> None:
        """Stop whatever runs, for the end of the server."""
