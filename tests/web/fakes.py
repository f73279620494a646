"""A clock that stands, a runner that only takes down what it is told, questions answered on the spot."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from scheduler.model.errors import SoaklineError
from workers.asking import Answer


@dataclass
class StandingClock:
    """Says the same instant until it is set to another."""

    now: datetime

    def __call__(self) -> datetime:
        return self.now


@dataclass
class NotingRunner:
    """Takes down which runs it should start and stop."""

    started: list[int] = field(default_factory=list)
    stopped: list[int] = field(default_factory=list)

    def start(self, run_id: int) -> None:
        self.started.append(run_id)

    def stop(self, run_id: int) -> None:
        self.stopped.append(run_id)

    def reconcile(self) -> None:
        pass

    def close(self) -> None:
        pass


@dataclass
class AskingHere:
    """Works each question out at once, or never if it is told to hold back."""

    hold: bool = False
    answers: dict[Hashable, Answer] = field(default_factory=dict)

    def ask(self, key: Hashable, at: datetime, function: Callable[..., Any], *arguments: object) -> None:
        self.answers[key] = Answer("waiting", at)
        if self.hold:
            return
        try:
            self.answers[key] = Answer("done", at, function(*arguments))
        except SoaklineError as refusal:
            self.answers[key] = Answer("refused", at, None, str(refusal))

    def answer(self, key: Hashable) -> Answer | None:
        return self.answers.get(key)

    def close(self) -> None:
        pass
