"""Why a job has no place in a plan, in words."""

from __future__ import annotations

from collections import defaultdict

from scheduler.model import Reason, Unplaced
from scheduler.planning.explain.words import listed

#: Checks that leave a job out although something fits it, and how that begins.
LEFT_OUT = {
    "stock": "No place in this plan: no spool with enough of the material is left for it",
    "horizon": "No place in this plan: its attended work does not fit before the last shift ends",
    "pinned": "No place in this plan: it is pinned to a place that it can't have",
}


def refusal(unplaced: Unplaced) -> tuple[str, tuple[str, ...]]:
    """A summary sentence and one line for each machine or reason."""
    left_out = [reason for reason in unplaced.reasons if reason.check in LEFT_OUT]
    if left_out:
        first = left_out[0]
        return f"{LEFT_OUT[first.check]} ({_said(first)}).", tuple(_dot(_said(one)) for one in left_out)
    if not unplaced.reasons:
        return "No place in this plan, and the plan gives no reason.", ()
    nearest = nearest_miss(unplaced.reasons)
    if nearest is None:
        texts = [_said(reason) for reason in unplaced.reasons]
        return f"Cannot be made here: {_bare(texts[0])}.", tuple(_dot(text) for text in texts)
    misses = [_said(reason) for reason in unplaced.reasons if reason.printer == nearest]
    summary = f"Cannot be made here. Nearest is {nearest}: {'; '.join(misses)}."
    return summary, _lines(unplaced.reasons, nearest)


def nearest_miss(reasons: tuple[Reason, ...]) -> str | None:
    """The printer with the fewest distinct failing checks, ties by id; ``None`` if no reason names one."""
    checks: defaultdict[str, set[str]] = defaultdict(set)
    for reason in reasons:
        if reason.printer is not None:
            checks[reason.printer].add(reason.check)
    return min(checks, key=lambda printer: (len(checks[printer]), printer), default=None)


def _lines(reasons: tuple[Reason, ...], nearest: str) -> tuple[str, ...]:
    by_printer: defaultdict[str | None, list[str]] = defaultdict(list)
    for reason in reasons:
        by_printer[reason.printer].append(_said(reason))
    counted = [_dot(text) for text in by_printer.pop(None, [])]
    first = by_printer.pop(nearest)
    lines = [f"Nearest is {nearest}: {'; '.join(first)}."]
    lines += [f"{printer}: {listed(texts, 6)}." for printer, texts in by_printer.items()]
    return (*lines, *counted)


def _said(reason: Reason) -> str:
    """The reason's sentence; the bare figures where a file of other making gives none."""
    if reason.text:
        return _bare(reason.text)
    figures = f", {reason.asked} asked for, {reason.there} there" if reason.asked is not None else ""
    return f"{reason.check}{figures}"


def _bare(text: str) -> str:
    return text.rstrip(". ")


def _dot(text: str) -> str:
    return f"{_bare(text)}."
