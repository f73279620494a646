"""What a proposal would move of the published plan, worked out once for each pair of plans."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from scheduler.model import Plan
from scheduler.planning.moves import Moves
from web.services import Services
from web.shop import Shop
from workers.trials import what_moves

#: Up to so many jobs a request works it out itself: sooner done than handed to another process.
AT_ONCE = 120


@dataclass(frozen=True, slots=True)
class Moved:
    """How far the comparison is.

    Parameters
    ----------
    state : str
        ``none`` (there are not two plans to compare), ``waiting``, ``done`` or ``failed``.
    moves : Moves or None
        ``None`` until it is done, and for good if the published plan is for another shop.
    """

    state: Literal["none", "waiting", "done", "failed"]
    moves: Moves | None = None
    message: str = ""


def moved(here: Services, shop: Shop) -> Moved:
    """The moves, or how far they are; the first who asks begins the work."""
    if shop.published is None or shop.proposal is None:
        return Moved("none")
    numbers = (shop.published.number, shop.proposal.number)
    key = ("moves", *numbers)
    if key in shop.memo:
        found = shop.memo[key]
        assert isinstance(found, Moved)
        return found
    arguments = (here.record.url.render_as_string(hide_password=False), *numbers)
    if max(len(shop.published.plan.jobs), len(shop.proposal.plan.jobs)) <= AT_ONCE:
        found = Moved("done", what_moves(*arguments))
    else:
        answer = here.comparing.answer(key)
        if answer is None:
            here.comparing.ask(key, here.clock(), what_moves, *arguments)
            answer = here.comparing.answer(key)
        if answer is None or answer.state == "waiting":
            return Moved("waiting")
        if answer.state == "done":
            found = Moved("done", answer.value)
        else:
            found = Moved("failed", None, answer.message)
    shop.memo[key] = found
    return found


def late_jobs(plan: Plan) -> int:
    """How many placed jobs are done after due."""
    return sum(planned.late_min > 0 for planned in plan.jobs)
