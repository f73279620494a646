"""Why a job has no place, in one line."""

from __future__ import annotations

from scheduler.model import Reason, Unplaced

#: Checks that say a job suits something, though this plan has no place for it.
PLAN_CHECKS = frozenset(("horizon", "stock", "pinned"))


def cannot_be_made(unplaced: Unplaced) -> bool:
    """True if nothing of the shop suits the job; False if only this plan has no place for it."""
    return not any(reason.check in PLAN_CHECKS for reason in unplaced.reasons)


def nearest_reasons(unplaced: Unplaced) -> tuple[Reason, ...]:
    """The reasons of the printer with the fewest failing checks, ties by id; of none in particular else."""
    by_printer: dict[str, list[Reason]] = {}
    for reason in unplaced.reasons:
        if reason.printer is not None:
            by_printer.setdefault(reason.printer, []).append(reason)
    if not by_printer or not cannot_be_made(unplaced):
        return unplaced.reasons
    nearest = min(by_printer, key=lambda id: (len({reason.check for reason in by_printer[id]}), id))
    return tuple(by_printer[nearest])


def short_reason(unplaced: Unplaced) -> str:
    """The first reason of the nearest miss, and how many more there are."""
    reasons = nearest_reasons(unplaced)
    if not reasons:
        return "no reason was recorded"
    more = len({reason.text for reason in reasons}) - 1
    text = reasons[0].text
    if reasons[0].printer and reasons[0].printer not in text:
        text = f"{reasons[0].printer}: {text}"
    return f"{text} (and {more} more)" if more > 0 else text
