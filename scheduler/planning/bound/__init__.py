"""What no plan's lateness can go under."""

from scheduler.planning.bound.alone import bound_alone, late_alone
from scheduler.planning.bound.prices import Prices
from scheduler.planning.bound.stronger import climb

__all__ = ["Prices", "bound_alone", "climb", "late_alone"]
