"""Instants and durations in the shop's words."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from flask import Flask

from scheduler.store import Record
from tests.builders import a_scenario, a_site
from tests.web.fakes import StandingClock
from web.times import day, field_value, figure, full, lasts, time_only, when


@pytest.fixture
def berlin(app: Flask, record: Record, clock: StandingClock) -> Iterator[None]:
    """A request in a shop in Berlin, on Thursday 27 March 2031, three days before clocks go forward."""
    with record.writing() as unit:
        unit.fleet.replace(a_scenario(site=a_site(timezone="Europe/Berlin")))
    clock.now = datetime(2031, 3, 27, 9, 0, tzinfo=UTC)
    with app.test_request_context("/"):
        yield


@pytest.mark.usefixtures("berlin")
def test_times_are_the_shops() -> None:
    instant = datetime(2031, 3, 27, 13, 5, tzinfo=UTC)
    assert when(instant) == "Thu 14:05"
    assert time_only(instant) == "14:05"
    assert day(instant) == "Thu 27 Mar"
    assert full(instant) == "Thu 27 Mar 14:05"
    assert field_value(instant) == "2031-03-27T14:05"


@pytest.mark.usefixtures("berlin")
def test_times_far_from_now_carry_the_date() -> None:
    assert when(datetime(2031, 4, 2, 13, 5, tzinfo=UTC)) == "Wed 15:05"
    assert when(datetime(2031, 4, 3, 13, 5, tzinfo=UTC)) == "Thu 3 Apr 15:05"


@pytest.mark.usefixtures("berlin")
def test_times_around_a_change_of_clocks() -> None:
    # On Sunday 30 March 2031 01:59 CET is followed by 03:00 CEST.
    assert when(datetime(2031, 3, 30, 0, 59, tzinfo=UTC)) == "Sun 01:59"
    assert when(datetime(2031, 3, 30, 1, 0, tzinfo=UTC)) == "Sun 03:00"


@pytest.mark.usefixtures("berlin")
def test_no_instant_is_a_dash() -> None:
    assert when(None) == day(None) == full(None) == time_only(None) == "–"
    assert field_value(None) == ""


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (0, "0 min"),
        (44.6, "45 min"),
        (59, "59 min"),
        (60, "1 h"),
        (125, "2 h 05 min"),
        (2879, "47 h 59 min"),
        (2880, "2 days"),
        (2880 + 59, "2 days"),
        (2880 + 240, "2 days 4 h"),
    ],
)
def test_durations(minutes: float, words: str) -> None:
    assert lasts(minutes) == words


@pytest.mark.parametrize(
    ("value", "words"),
    [(None, "–"), (0.0, "0"), (12.0, "12"), (12.34, "12.3"), (1204.5, "1\u202f204.5"), (100.0, "100")],
)
def test_figures(value: float | None, words: str) -> None:
    assert figure(value) == words


def test_whole_figures_keep_their_zeros() -> None:
    assert figure(120, 0) == "120"
