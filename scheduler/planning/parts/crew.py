"""Who carries errands out: the face that every crew has, and one of threads in this process."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Protocol

from scheduler.planning.compiled import Kernels
from scheduler.planning.parts.ground import Ground
from scheduler.planning.parts.part import Answer, Errand
from scheduler.planning.parts.work import Bench

#: Seconds between two looks at whether to give up.
LOOK_S = 0.1


class Crew(Protocol):
    """Works on parts, several at the same time."""

    @property
    def size(self) -> int:
        """How many parts it can work on at the same time; it may change from call to call."""

    def begin(self, ground: Ground) -> None:
        """Make ready for errands of one shop."""

    def work(self, errands: list[Errand], wait_s: float | None, give_up: Callable[[], bool]) -> list[Answer]:
        """Hand the errands out and bring back what has come in.

        Parameters
        ----------
        wait_s : float or None
            How long to wait at most, seconds; ``None`` for until every errand is answered.
        give_up : callable
            Asked now and then; True ends the waiting.

        Returns
        -------
        list of Answer
            An answer to an errand of an earlier call may be among them; one to an errand of this call
            may be missing, because its worker died or is late.
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

    def work(self, errands: list[Errand], wait_s: float | None, give_up: Callable[[], bool]) -> list[Answer]:
        answers: list[Answer] = []
        over = threading.Event()

        def carry_out(bench: Bench, mine: list[Errand]) -> None:
            for errand in mine:
                if not over.is_set():
                    answers.append(bench.improve(errand, over.is_set))

        threads = [
            threading.Thread(target=carry_out, args=(bench, errands[k :: self._size]))
            for k, bench in enumerate(self._benches)
        ]
        for thread in threads:
            thread.start()
        try:
            for thread in threads:
                while thread.is_alive():
                    thread.join(LOOK_S)
                    if give_up():
                        over.set()
        finally:
            over.set()
            for thread in threads:
                thread.join()
        return sorted(answers, key=lambda answer: answer.number)

    def close(self) -> None:
        self._benches = []
