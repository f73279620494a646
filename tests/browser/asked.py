"""Requests to the demo shop: a draft that is worked out, and one whose slot is held."""

from __future__ import annotations

from datetime import timedelta

from scheduler.office.quotes.drafts import draft
from scheduler.office.quotes.holds import answer_quote, hold
from scheduler.quoting.ask import Ask, AskLine
from tests.browser.running import Running


def two_quotes(running: Running) -> tuple[int, int]:
    """Numbers of a draft and of a held quote."""
    record, clock = running.record, running.now
    with record.reading() as unit:
        scenario = unit.fleet.load()
    most = sorted(scenario.materials, key=lambda m: -sum(s.material == m.id for s in scenario.spools))
    bracket = AskLine("pump bracket", 6, most[0].id, (60.0, 45.0, 30.0), 95.0, 48.0, (0.4, 0.6))
    cover = AskLine("sensor cover", 3, most[1].id, (80.0, 80.0, 25.0), 140.0, 70.0, (0.4, 0.6))
    drafted = draft(
        record, clock, "Marlow Pumps", "Ina Reyes", Ask((bracket, cover), clock() + timedelta(days=3))
    )
    held = draft(record, clock, "Osei Optics", "Kofi Osei", Ask((bracket,)))
    first = min(job.steps[0].start for job in answer_quote(record, clock, held)[1].ways[0].jobs)
    hold(record, clock, held, clock() + (first - clock()) / 2)
    return drafted, held
