"""From a part to lot, spool, dryer run, machine, nozzle, times and people, and back."""

from web.trace.views import blueprint

__all__ = ["blueprint"]
