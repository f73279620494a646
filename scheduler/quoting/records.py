"""What the floor and the quote desk leave behind to learn from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class PrintRecord:
    """One print that has ended.

    Parameters
    ----------
    machine, material : str
        Printer and the material of its first feed, by id.
    estimated_min : float
        What was planned on that machine, minutes.
    actual_min : float
        What it took, minutes; of a failed print until it failed.
    at : datetime
        When it ended.
    """

    machine: str
    material: str
    estimated_min: float
    actual_min: float
    failed: bool
    at: datetime


@dataclass(frozen=True, slots=True)
class PromiseRecord:
    """One date given to a customer, and what became of it.

    Parameters
    ----------
    quantile : float
        The chance with which it was promised, 0 to 1.
    done_at : datetime or None
        ``None``: not done yet.
    """

    quantile: float
    promised_at: datetime
    promised_for: datetime
    done_at: datetime | None

    def kept(self, now: datetime) -> bool | None:
        """Whether it was kept; ``None`` before its date.

        One that is done early is decided on its date too: else kept promises would be known sooner than
        missed ones and the share kept would look too high.
        """
        if now < self.promised_for:
            return None
        return self.done_at is not None and self.done_at <= self.promised_for
