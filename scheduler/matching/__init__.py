"""Which printer, head and nozzle fits which job, and why not."""

from scheduler.matching.answers import CHECKS, Assignment, HeadNozzle, Verdict
from scheduler.matching.matcher import Matcher
from scheduler.matching.staffing import staffed_stretches
from scheduler.matching.together import Together, common_window

__all__ = [
    "CHECKS",
    "Assignment",
    "HeadNozzle",
    "Matcher",
    "Together",
    "Verdict",
    "common_window",
    "staffed_stretches",
]
