"""Breaches that a begun job cannot help are excused where the plan names them."""

from __future__ import annotations

from scheduler.checking.breach import Breach
from scheduler.checking.view import View

#: Other words by which a plan may name a rule.
ALSO = {
    "open time": "dryness",
    "staffed": "unattended",
    "draws": "spools",
    "grams": "spools",
    "pin": "pinned",
    "lot": "lots",
    "oven": "ovens",
    "spool": "spools",
}


def rule_name(rule: str) -> str:
    """The rule that a plan's word means."""
    plain = " ".join(rule.replace("_", " ").lower().split())
    return ALSO.get(plain, plain)


def excuse(view: View, breaches: list[Breach]) -> list[Breach]:
    """The breaches that remain, and one for each entry of ``forced`` that excuses nothing."""
    under_way = {job.id for job in view.scenario.jobs if job.progress is not None}
    excused: set[int] = set()
    added = []
    for forced in view.plan.forced:
        who, rule = f"job {forced.job}", rule_name(forced.rule)
        if forced.job not in under_way:
            added.append(Breach("forced", who, f"{forced.rule} is forced, and the job is not under way"))
            continue
        held = {
            place
            for place, breach in enumerate(breaches)
            if forced.job in breach.jobs and breach.rule == rule
        }
        if not held:
            added.append(Breach("forced", who, f"{forced.rule} is forced, and the job does not break it"))
        excused |= held
    return [breach for place, breach in enumerate(breaches) if place not in excused] + added
