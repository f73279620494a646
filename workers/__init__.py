"""What runs outside a request: planning runs and the clock's work, in child processes or through a queue."""

from __future__ import annotations

from workers.ending import EndingHolds
from workers.factory import make_runner
from workers.improving import Improving
from workers.keeping import Keeping
from workers.runner import Runner
from workers.timers import Timers, make_timers

__all__ = ["EndingHolds", "Improving", "Keeping", "Runner", "Timers", "make_runner", "make_timers"]
