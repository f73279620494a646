"""What no plan's lateness can go under."""

from scheduler.planning.bound.alone import bound_alone, late_alone
from scheduler.planning.bound.prices import Prices

__all__ = ["Prices", "bound_alone", "late_alone"]
