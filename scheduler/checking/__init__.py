"""The independent judge of a plan. It knows the contract and nothing of how plans are made."""

from scheduler.checking.breach import Breach
from scheduler.checking.figures import Costs, costs
from scheduler.checking.judge import check

__all__ = ["Breach", "Costs", "check", "costs"]
