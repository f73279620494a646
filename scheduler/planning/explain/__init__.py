"""Why a job of a plan is done when it is done, or has no place, in plain words."""

from scheduler.planning.explain.explainer import Explainer, Explanation, Link, why

__all__ = ["Explainer", "Explanation", "Link", "why"]
