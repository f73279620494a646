"""A planning run as its page and its figures tell it: words, and a small line of late hours over time."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.store import PlanningRun
from web.times import figure

#: The drawing's own units; the stylesheet gives it its size.
WIDTH, HEIGHT = 600.0, 90.0


@dataclass(frozen=True, slots=True)
class Course:
    """The late hours of a run's best plan over time, as points of a drawing.

    Parameters
    ----------
    line : str
        Points of a line that steps down at each better plan; empty until there is a plan.
    bound_y : float
        How far down the bound lies; under the drawing while it is not known.
    top_words, end_words : str
        What the upper edge and the right edge stand for.
    """

    line: str
    bound_y: float
    top_words: str
    end_words: str


def course_of(run: PlanningRun, limit_s: float) -> Course:
    """The drawing of a run.

    Parameters
    ----------
    limit_s : float
        How long a plan may be improved, seconds; the drawing is at least that wide.
    """
    end_s = max(limit_s, run.seconds, 0.1)
    top_h = max((late for _, late in run.trail), default=0.0)
    line = ""
    if run.trail:
        points, before = [], None
        for seconds, late in run.trail:
            if before is not None:
                points.append((seconds, before))
            points.append((seconds, late))
            before = late
        points.append((max(run.seconds, points[-1][0]), points[-1][1]))
        line = " ".join(f"{WIDTH * seconds / end_s:.1f},{_y(late, top_h):.1f}" for seconds, late in points)
    known = run.lower_bound is not None and top_h > 0
    bound_y = _y(min(run.lower_bound or 0.0, top_h), top_h) if known else 2 * HEIGHT
    return Course(line, round(bound_y, 1), f"{figure(top_h)} h" if top_h else "", f"{figure(end_s)} s")


def _y(late_h: float, top_h: float) -> float:
    """Height of a figure, none at the lower edge; a little room above for the line's own width."""
    return HEIGHT - 2 - (HEIGHT - 4) * (late_h / top_h if top_h > 0 else 0.0)


def words_of(run: PlanningRun, limit_s: float, ended_by: str | None) -> dict[str, str]:
    """Each figure as the page says it, by the name of its place."""
    return {
        "seconds": f"{figure(run.seconds)} of {figure(limit_s)} s"
        if run.seconds <= limit_s
        else f"{figure(run.seconds)} s",
        "placed": f"{run.placed} of {run.jobs}" if run.jobs else "–",
        "late_cost": f"{figure(run.late_cost)} h" if run.late_cost is not None else "no plan yet",
        "bound": f"{figure(run.lower_bound)} h" if run.lower_bound is not None else "–",
        "doing": _doing(run, ended_by),
    }


def _doing(run: PlanningRun, ended_by: str | None) -> str:
    if ended_by is not None:
        wait = (
            "its first plan is kept as soon as it is there"
            if run.late_cost is None
            else "its best plan is kept"
        )
        return f"{ended_by} has ended it; {wait}."
    if run.state == "waiting":
        return "Waiting for its turn."
    return f"Now: {run.doing}." if run.doing else ""
