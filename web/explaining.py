"""The explanations of the shown plan's jobs, worked out once a version of the record."""

from __future__ import annotations

from scheduler.matching import Matcher
from scheduler.planning.explain import Explainer, Explanation
from web.shop import Shop


def explain(shop: Shop, job_id: str) -> Explanation:
    """Why a job is done when it is done, or has no place.

    Raises
    ------
    KeyError
        If the shop has no such job or no plan.
    """
    key = ("explanation", job_id)
    if key not in shop.memo:
        shop.memo[key] = _explainer(shop).why(job_id)
    found = shop.memo[key]
    assert isinstance(found, Explanation)
    return found


def reason(shop: Shop, job_id: str) -> str:
    """The summary without the verdict that stands beside it anyway: what follows "2 h late: "."""
    summary = explain(shop, job_id).summary
    _, colon, rest = summary.partition(": ")
    return (
        rest[:1].upper() + rest[1:] if colon and not summary.startswith(("Cannot", "No place")) else summary
    )


def matcher(shop: Shop) -> Matcher:
    """The matcher of the recorded shop."""
    if "matcher" not in shop.memo:
        shop.memo["matcher"] = Matcher(shop.scenario)
    found = shop.memo["matcher"]
    assert isinstance(found, Matcher)
    return found


def _explainer(shop: Shop) -> Explainer:
    if "explainer" not in shop.memo:
        if shop.plan is None:
            raise KeyError("no plan")
        shop.memo["explainer"] = Explainer(shop.scenario, shop.plan)
    found = shop.memo["explainer"]
    assert isinstance(found, Explainer)
    return found
