"""Every job is placed or unplaced, once, and for a reason that holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from scheduler.checking.breach import Breach
from scheduler.checking.view import View
from scheduler.matching import Matcher
from scheduler.model import Job, Reason, Unplaced

#: Checks by which a job that something fits may be left out.
LEFT_OUT = ("horizon", "stock", "pinned")


def check_complete(view: View, matcher: Matcher) -> Iterator[Breach]:
    """Each job exactly once; jobs that nothing fits with the matcher's reasons."""
    seen: set[str] = set()
    for unplaced in view.plan.unplaced:
        job, who = view.jobs.get(unplaced.job), f"job {unplaced.job}"
        if job is None:
            yield Breach("names", who, "the scenario has no such job")
            continue
        if unplaced.job in seen:
            yield Breach("complete", who, "it is unplaced more than once")
            continue
        seen.add(unplaced.job)
        if unplaced.job in view.named:
            yield Breach("complete", who, "it is both placed and unplaced")
        elif job.progress is None:
            yield from _check_reasons(job, unplaced, matcher)
    for job in view.scenario.jobs:
        # Begun jobs that are missing are reported with what is under way.
        if job.id not in seen and job.id not in view.named and job.progress is None:
            yield Breach("complete", f"job {job.id}", "it is neither placed nor unplaced")


def _check_reasons(job: Job, unplaced: Unplaced, matcher: Matcher) -> Iterator[Breach]:
    who = f"job {job.id}"
    verdict = matcher.verdict(job.id)
    if not verdict.fits:
        asked, there = _by_place(verdict.reasons), _by_place(unplaced.reasons)
        if asked != there:
            text = f"nothing fits it; {_difference(asked, there)}"
            yield Breach("complete", who, text)
        return
    checks = {reason.check for reason in unplaced.reasons}
    if not checks or not checks <= set(LEFT_OUT):
        text = (
            f"something fits it, it is unplaced for {', '.join(sorted(checks)) or 'no reason'}; "
            f"asked for: {', '.join(LEFT_OUT)}"
        )
        yield Breach("complete", who, text)
    if "pinned" in checks and job.pinned is None:
        yield Breach("complete", who, "it is unplaced for its pin and has none")
    if job.pinned is not None and checks & {"horizon", "stock"}:
        yield Breach("complete", who, f"it is pinned, so it is unplaced with check pinned, not {min(checks)}")
    if any(reason.check == "pinned" and not reason.text.strip() for reason in unplaced.reasons):
        yield Breach("complete", who, "its reason pinned does not name the rule that it would break")


_Place = tuple[str | None, frozenset[str]]


def _by_place(reasons: tuple[Reason, ...]) -> Counter[_Place]:
    """Printer and checks of each reason; a reason that counts printers names several checks."""
    places = {(reason.printer, frozenset(reason.check.split(", "))) for reason in reasons}
    return Counter(places)


def _difference(asked: Counter[_Place], there: Counter[_Place]) -> str:
    def words(places: Counter[_Place]) -> str:
        named = sorted(
            f"{', '.join(sorted(checks))} at {printer or 'the other printers'}" for printer, checks in places
        )
        return "; ".join(named)

    parts = []
    if missing := asked - there:
        parts.append(f"missing reasons: {words(missing)}")
    if wrong := there - asked:
        parts.append(f"reasons that do not hold: {words(wrong)}")
    return "; ".join(parts)
