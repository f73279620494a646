"""Questions in a child process."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator

import pytest

from scheduler.office.refused import Refused
from tests.builders import at
from workers.asking import Answer, AskingChild


def told(figure: int) -> tuple[int, int]:
    return figure, os.getpid()


def refuses(words: str) -> None:
    raise Refused(words)


def dies() -> None:
    os._exit(9)


def breaks() -> None:
    raise ZeroDivisionError("by nothing")


def sleeps() -> None:
    time.sleep(600)


@pytest.fixture
def asking() -> Iterator[AskingChild]:
    made = AskingChild(limit_s=30.0)
    yield made
    made.close()


def awaited(asking: AskingChild, key: str) -> Answer:
    until = time.monotonic() + 60
    while time.monotonic() < until:
        answer = asking.answer(key)
        if answer is not None and answer.state != "waiting":
            return answer
        time.sleep(0.05)
    raise AssertionError(f"{key} got no answer")


def test_questions_are_answered_outside_of_this_process(asking: AskingChild) -> None:
    asking.ask("seven", at(3), told, 7)
    waiting = asking.answer("seven")
    assert waiting is not None and (waiting.state, waiting.asked_at) == ("waiting", at(3))
    answer = awaited(asking, "seven")
    assert (answer.state, answer.value[0], answer.asked_at) == ("done", 7, at(3))
    assert answer.value[1] != os.getpid()
    assert asking.answer("eight") is None


def test_refusals_breaks_and_deaths_are_answers_and_the_next_question_is_worked_on(
    asking: AskingChild,
) -> None:
    asking.ask("refused", at(0), refuses, "no such thing")
    asking.ask("broken", at(0), breaks)
    asking.ask("dead", at(0), dies)
    asking.ask("nowhere", at(0), lambda: 1)
    asking.ask("last", at(0), told, 1)
    assert awaited(asking, "refused").message == "no such thing"
    assert "ZeroDivisionError: by nothing" in awaited(asking, "broken").message
    assert "could not begin" in awaited(asking, "nowhere").message
    assert (awaited(asking, "dead").state, awaited(asking, "last").state) == ("failed", "done")


def test_what_takes_too_long_is_ended() -> None:
    asking = AskingChild(limit_s=0.2)
    try:
        asking.ask("long", at(0), sleeps)
        assert "longer than 0.2 s" in awaited(asking, "long").message
    finally:
        asking.close()


def test_closing_ends_the_child(asking: AskingChild) -> None:
    asking.ask("long", at(0), sleeps)
    time.sleep(0.5)
    began = time.monotonic()
    asking.close()
    assert time.monotonic() - began < 8
