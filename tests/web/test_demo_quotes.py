"""The demo's quotes: each state by the desk's own work, and a past from which something was learnt."""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from demo_fleet import demo_shop
from scheduler.model.codec import scenario_hash
from scheduler.office.quotes.promises import lessons
from scheduler.planning import make_plan
from scheduler.store import Record
from tests.web.fakes import AskingHere, StandingClock
from web.demo_later import DemoQuotes
from web.demo_quotes import PAST_PRINTS, PAST_PROMISES, REQUESTS, make_demo_quotes, make_quotes, note_past


def test_the_demo_begins_with_quotes_in_every_state_and_a_past(tmp_path: Path) -> None:
    record = Record(f"sqlite:///{tmp_path / 'demo.sqlite3'}")
    record.migrate()
    scenario = demo_shop(date(2031, 3, 4))
    start = scenario.site.plan_start
    plan = make_plan(scenario, scenario_hash=scenario_hash(scenario), made_at=start, rounds=300, chains=1)
    with record.writing() as unit:
        unit.fleet.replace(scenario)
        unit.plans.publish(unit.plans.add(plan))
        note_past(unit, scenario, plan, start)
    clock = StandingClock(start + timedelta(hours=3))
    told = lessons(record, clock)
    assert told.learning is not None
    assert told.learning.shop.prints + told.learning.shop.failures == PAST_PRINTS
    assert sum(rate.decided for rate in told.rates) == PAST_PROMISES
    assert 0 < sum(rate.kept for rate in told.rates) < PAST_PROMISES
    slow = [cell.luck.factor for cell in told.learning.cells if cell.material == "PEI" and cell.prints > 5]
    assert all(factor > 1.05 for factor in slow)
    assert make_quotes(record, clock) == len(REQUESTS)
    with record.reading() as unit:
        newest = unit.quotes.find(limit=len(REQUESTS))
        states = {quote.customer: quote.state for quote in newest}
        jobs = {job.order for job in unit.fleet.load().jobs}
    assert states == {asked.customer: asked.state for asked in REQUESTS}
    by_state = {quote.state: quote for quote in newest}
    assert by_state["held"].name in jobs and by_state["accepted"].name in jobs
    assert by_state["sent"].link_serial == 1 and by_state["sent"].promised_for is not None
    record.close()


class AskingNoted(AskingHere):
    """Takes down what it is asked and works nothing out."""

    def __init__(self) -> None:
        super().__init__(hold=True)
        self.asked: list[tuple[object, ...]] = []
        self.told = threading.Event()

    def ask(self, key: Hashable, at: datetime, function: Callable[..., Any], *arguments: object) -> None:
        self.asked.append((key, function, *arguments))
        self.told.set()


def test_they_wait_for_the_compiled_search_and_are_made_elsewhere(tmp_path: Path) -> None:
    record = Record(f"sqlite:///{tmp_path / 'demo.sqlite3'}")
    record.migrate()
    built = threading.Event()
    asking = AskingNoted()
    clock = StandingClock(demo_shop(date(2031, 3, 4)).site.plan_start)
    later = DemoQuotes(record, clock, "here", built.is_set, better=False)
    later.start(asking)
    assert not asking.told.wait(1.2)
    built.set()
    assert asking.told.wait(60)
    later.close()
    assert asking.asked == [(("demo quotes",), make_demo_quotes, "here")]
    record.close()
