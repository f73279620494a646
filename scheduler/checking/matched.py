"""Machine, heads, nozzles and spools of a job are such as the matcher lets pass."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.checking.breach import Breach
from scheduler.checking.view import Stint, View
from scheduler.matching import Assignment, HeadNozzle, Matcher


def check_match(view: View, matcher: Matcher) -> Iterator[Breach]:
    """All fourteen checks, for jobs that have not begun."""
    for stint in view.stints.values():
        if not stint.under_way:
            yield from _check_seat(stint, matcher)
            yield from _check_spools(stint)


def _check_seat(stint: Stint, matcher: Matcher) -> Iterator[Breach]:
    job_id, printer_id = stint.job.id, stint.printer.id
    chosen = Assignment(tuple(HeadNozzle(choice.head, choice.nozzle) for choice in stint.planned.feeds))
    passing = matcher.assignments(job_id, printer_id)
    if chosen in passing:
        return
    heads = ", ".join(f"{seat.head} with {seat.nozzle}" for seat in chosen.feeds)
    reasons = "; ".join(reason.text for reason in matcher.failures(job_id, printer_id))
    if not reasons:
        others = " or ".join(
            ", ".join(f"{seat.head} with {seat.nozzle}" for seat in assignment.feeds)
            for assignment in passing
        )
        reasons = f"what fits there: {others}"
    text = f"printer {printer_id}, {heads}, does not fit: {reasons}"
    yield Breach("match", stint.who, text, (job_id,))


def _check_spools(stint: Stint) -> Iterator[Breach]:
    for feed, spool in zip(stint.job.feeds, stint.spools, strict=True):
        if spool.material != feed.material:
            text = f"spool {spool.id} is {spool.material}, the feed asks for {feed.material}"
            yield Breach("match", stint.who, text, (stint.job.id,))
        missing = [tag for tag in feed.certs if tag not in spool.certs]
        if missing:
            text = f"spool {spool.id} has no certificate {', '.join(missing)}"
            yield Breach("match", stint.who, text, (stint.job.id,))
