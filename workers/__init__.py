"""What runs outside a request: planning runs, in a child process or through a queue."""

from __future__ import annotations

from workers.ending import EndingHolds
from workers.factory import make_runner
from workers.improving import Improving
from workers.runner import Runner

__all__ = ["EndingHolds", "Improving", "Runner", "make_runner"]
