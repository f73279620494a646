"""A clock that stands, and a runner that only takes down what it is told."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime


@dataclass
class StandingClock:
    """Says the same instant until it is set to another."""

    now: datetime

    def __call__(self) -> datetime:
        return self.now


@dataclass
class NotingRunner:
    """Takes down which runs it should start and stop."""

    started: list[int] = field(default_factory=list)
    stopped: list[int] = field(default_factory=list)

    def start(self, run_id: int) -> None:
        self.started.append(run_id)

    def stop(self, run_id: int) -> None:
        self.stopped.append(run_id)

    def reconcile(self) -> None:
        pass

    def close(self) -> None:
        pass
