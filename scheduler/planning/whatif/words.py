"""Trials in plain words."""

from __future__ import annotations

from scheduler.model import Site
from scheduler.planning.explain.words import Clockwork, lasts
from scheduler.planning.whatif import Trial, Tried

#: What kinds of change are called.
KIND_WORDS = {
    "none": "Nothing bought",
    "promise": "Another promise",
    "overtime": "Overtime",
    "hand": "One more hand",
    "spool": "A spool",
    "nozzle": "A nozzle",
    "dryer": "A dryer",
    "machine": "A machine",
    "printer": "Another machine",
}


def ends(trial: Trial, site: Site) -> str:
    """When and where the job is done: "on warm-1, done Tue 14:05, on time"."""
    if trial.done is None:
        return "finds no place"
    when = Clockwork(site).when(site.minute(trial.done))
    late = f"{lasts(trial.late_min)} late" if trial.late_min else "not late"
    return f"on {trial.printer}, done {when}, {late}"


def won(trial: Trial) -> str:
    """How much sooner, or later, it is done than today."""
    if trial.won_min is None:
        return "has a place" if trial.done is not None else ""
    if trial.won_min == 0:
        return "no sooner"
    return f"{lasts(abs(trial.won_min))} {'sooner' if trial.won_min > 0 else 'later'}"


def summary(tried: Tried) -> str:
    """One sentence: what would save the job."""
    bare = tried.nothing
    if tried.today.saves:
        return f"{tried.job} is on time as planned; the trials show what would bring it forward."
    if bare is not None and bare.saves:
        cost = bare.others_late_h - tried.today.others_late_h
        price = (
            f"that costs the other jobs {cost:.1f} late hours"
            if cost > 0.05
            else "that costs the other jobs nothing"
        )
        return f"Put first, with nothing bought, {tried.job} would be on time; {price}."
    saving = [trial for trial in tried.trials if trial.saves]
    if saving:
        return f"{tried.job} would be saved by: {saving[0].words}."
    if tried.helpful:
        best = max(tried.helpful, key=lambda trial: trial.won_min or 0)
        return f"Nothing that was tried saves {tried.job}; the most is won by: {best.words} ({won(best)})."
    return f"Nothing that was tried brings {tried.job} forward."


def line(trial: Trial, site: Site) -> str:
    """One line for a terminal."""
    parts = [f"{trial.words}: {ends(trial, site)}", won(trial), f"the shop {trial.late_h:.2f} late hours"]
    if trial.moved:
        parts.append("1 other job moves" if trial.moved == 1 else f"{trial.moved} other jobs move")
    parts.append(trial.aside)
    return "; ".join(part for part in parts if part)
