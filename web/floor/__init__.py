"""The floor: what to do now at each machine, dryer and oven, and the record of what was done."""

from web.floor.views import blueprint

__all__ = ["blueprint"]
