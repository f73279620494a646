"""Who carries errands out: the face that every crew has, and one of threads in this process."""

from __future__ import annotations

import threading
from typing import Protocol

from scheduler.planning.compiled import Kernels
from scheduler.planning.parts.ground import Ground
from scheduler.planning.parts.part import Answer, Errand
from scheduler.planning.parts.work import Bench


class Crew(Protocol):
    """Works on parts, several at the same time."""

    @property
    def size(self) -> int:
        """How many parts it works on at the same time."""

    def begin(self, ground: Ground) -> None:
        """Make ready for errands of one shop."""

    def work(self, errands: list[Errand], wait_s: float) -> list[Answer]:
        """Hand the errands out and bring back what has come in after ``wait_s`` at the latest.

        An answer to an errand of an earlier call may be among them; one to an errand of this call may be
        missing, because its worker died or is late.
        """

    def close(self) -> None:
        """End what it began."""


class Threads:
    """A crew in this process, one core each: the kernels hold no interpreter lock."""

    def __init__(self, size: int, kernels: Kernels) -> None:
        self._size, self._kernels = size, kernels
        self._benches: list[Bench] = []

    @property
    def size(self) -> int:
        return self._size

    def begin(self, ground: Ground) -> None:
        self._benches = [Bench(ground, self._kernels) for _ in range(self._size)]

    def work(self, errands: list[Errand], wait_s: float) -> list[Answer]:
        answers: list[Answer] = []

        def carry_out(bench: Bench, mine: list[Errand]) -> None:
            answers.extend(bench.improve(errand) for errand in mine)

        threads = [
            threading.Thread(target=carry_out, args=(bench, errands[k :: self._size]))
            for k, bench in enumerate(self._benches)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        return sorted(answers, key=lambda answer: answer.number)

    def close(self) -> None:
        self._benches = []
