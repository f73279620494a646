"""The independent judge of a plan. It knows the contract and nothing of how plans are made."""

from scheduler.checking.breach import Breach
from scheduler.checking.figures import Costs, costs
from scheduler.checking.judge import check, open_too_long

__all__ = ["Breach", "Costs", "check", "costs", "open_too_long"]
