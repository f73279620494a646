"""Whether what happened is what the published plan foresaw."""

from __future__ import annotations

from datetime import datetime, timedelta

from scheduler.floor.facts import Fact
from scheduler.floor.ground import Ground
from scheduler.model import PlannedJob, StepKind

#: A step that begins or ends so near to its planned time is as planned, minutes.
NEAR_MIN = 15
#: A print that took so much longer or shorter counts as near, too, as a share of its length.
NEAR_SHARE = 0.02

_ALWAYS = {
    "job failed": "{subject} failed: {cause}",
    "job held": "{subject} is on hold: {why}",
    "job released": "{subject} may go on",
    "machine down": "{subject} is out of use: {why}",
    "machine up": "{subject} can be used again",
    "spool quarantined": "spool {subject} is in quarantine: {why}",
    "spool cleared": "spool {subject} can be used again",
    "spool found wet": "spool {subject} is wet: {why}",
    "step undone": "a step of {subject} was taken back",
    "job let go": "{subject} was let go",
}
#: The step whose planned start (or end, for ``print ended``) a fact is held against.
_STEP: dict[str, StepKind] = {
    "job pulled": "changeover",
    "chamber on": "preheat",
    "first layer begun": "start",
    "part taken off": "unload",
}


def strays(ground: Ground, fact: Fact) -> str | None:
    """What a fact has that the published plan does not foresee, in words; ``None`` if nothing."""
    if ground.plan is None:
        return None
    words = _ALWAYS.get(fact.kind)
    if words is not None:
        data = {"cause": "", "why": ""} | {
            key: value for key, value in fact.data.items() if key in ("cause", "why")
        }
        return words.format(subject=fact.subject[1], **data)
    if fact.kind in ("spool weighed", "spool emptied"):
        return _short_of_grams(ground, fact)
    if fact.kind in ("dryer loaded", "dryer emptied", "oven loaded", "oven emptied"):
        return _run_strays(ground, fact)
    if fact.kind == "part inspected":
        return (
            f"{fact.data.get('missing')} parts of {fact.subject[1]} are printed again"
            if fact.data.get("missing")
            else None
        )
    planned = ground.planned.get(str(fact.data.get("job")))
    if planned is None:
        return f"{fact.data['job']} is not in the published plan" if "job" in fact.data else None
    if fact.kind == "spool mounted":
        choice = planned.feeds[fact.data["feed"]]
        if choice.spool != fact.data["spool"]:
            return f"{planned.job} got spool {fact.data['spool']} instead of {choice.spool}"
        return None
    if fact.kind == "job pulled" and planned.printer != fact.data["printer"]:
        return f"{planned.job} was pulled to {fact.data['printer']} instead of {planned.printer}"
    if fact.kind == "print ended":
        return _away(
            planned,
            "ends",
            planned.steps[3].end,
            datetime.fromisoformat(fact.data["ended_at"]),
            _near(planned),
        )
    step = _STEP.get(fact.kind)
    if step is None:
        return None
    start = next(each.start for each in planned.steps if each.kind == step)
    verb = {"changeover": "was pulled", "preheat": "heats", "start": "begins", "unload": "is off"}[step]
    return _away(planned, verb, start, fact.at, timedelta(minutes=NEAR_MIN))


def _near(planned: PlannedJob) -> timedelta:
    length = planned.steps[3].end - planned.steps[3].start
    return max(timedelta(minutes=NEAR_MIN), length * NEAR_SHARE)


def _away(
    planned: PlannedJob, verb: str, foreseen: datetime, actual: datetime, near: timedelta
) -> str | None:
    off = actual - foreseen
    if abs(off) <= near:
        return None
    minutes = round(abs(off) / timedelta(minutes=1))
    return f"{planned.job} {verb} {minutes} min {'later' if off > timedelta(0) else 'earlier'} than planned"


def _short_of_grams(ground: Ground, fact: Fact) -> str | None:
    """Only less than the coming prints need is worth a plan."""
    spool = fact.data["spool"]
    left = fact.data.get("grams", 0.0)
    assert ground.plan is not None
    asked = sum(
        feed.grams
        for planned in ground.plan.jobs
        if planned.steps[3].end > fact.at and planned.job in ground.jobs
        for feed, choice in zip(ground.jobs[planned.job].feeds, planned.feeds, strict=True)
        if choice.spool == spool
    )
    if left >= asked:
        return None
    return f"{left:.0f} g are left on spool {spool}; the plan draws {asked:.0f} g"


def _run_strays(ground: Ground, fact: Fact) -> str | None:
    assert ground.plan is not None
    data = fact.data
    near = timedelta(minutes=NEAR_MIN)
    if fact.kind.endswith("emptied"):
        return None if data["whole"] else f"{fact.subject[1]} was emptied {data['short_min']} min too early"
    runs = (
        [(run.dryer, run.start, set(run.spools)) for run in ground.plan.dryer_runs]
        if fact.kind == "dryer loaded"
        else [(run.oven, run.start, set(run.jobs)) for run in ground.plan.oven_runs]
    )
    members = set(data.get("spools") or data.get("jobs") or ())
    for machine, start, planned in runs:
        if machine == fact.subject[1] and planned == members and abs(start - fact.at) <= near:
            return None
    return f"{fact.subject[1]} was loaded with {', '.join(sorted(members))}, which was not planned so"
