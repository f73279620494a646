"""Plans: construct, improve, explain."""

from scheduler.planning.make import Progress, make_plan

__all__ = ["Progress", "make_plan"]
