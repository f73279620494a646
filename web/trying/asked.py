"""Which situations were asked about, the newest first, while the server runs."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field
from datetime import datetime

#: How many the page lists.
LISTED = 10


@dataclass(frozen=True, slots=True)
class Asked:
    """One question: its number, its words, the plan and the minute that it is about."""

    number: int
    words: str
    plan: int
    at: datetime

    @property
    def key(self) -> tuple[str, int]:
        """The key of its answer."""
        return "situation", self.number


@dataclass
class Situations:
    """The questions of one server; safe for its threads."""

    _asked: dict[int, Asked] = field(default_factory=dict)
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _last: int = 0

    def add(self, words: str, plan: int, at: datetime) -> Asked:
        """Note a question under the next number."""
        with self._lock:
            self._last += 1
            asked = Asked(self._last, words, plan, at)
            self._asked[asked.number] = asked
            self._asked.pop(self._last - LISTED, None)
            return asked

    def get(self, number: int) -> Asked | None:
        with self._lock:
            return self._asked.get(number)

    def newest(self) -> list[Asked]:
        with self._lock:
            return sorted(self._asked.values(), key=lambda asked: -asked.number)
