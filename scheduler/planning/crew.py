"""Parts of a large shop planned at the same time, each by a process of its own."""

from __future__ import annotations

import pickle
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import BinaryIO, Protocol

from scheduler.model import Plan, Scenario

#: A process that says nothing for this long beyond its time is given up, seconds.
GRACE_S = 120.0


@dataclass(frozen=True)
class Piece:
    """One part to plan: the shop, for how long or how many rounds, and with what random numbers."""

    scenario: Scenario
    made_at: datetime
    seconds: float
    seed: int
    rounds: int | None = None


class Crew(Protocol):
    """Whoever plans the pieces."""

    @property
    def size(self) -> int:
        """How many pieces are worked on at the same time."""

    def plan(self, pieces: Sequence[Piece], stop: Callable[[], bool]) -> list[Plan | None]:
        """A plan of each piece, ``None`` for one that failed or that was stopped."""


def plan_piece(piece: Piece) -> Plan:
    """Plan one piece, in this process and on one core."""
    # The planner's front door imports this module.
    from scheduler.planning.make import make_plan

    return make_plan(
        piece.scenario,
        scenario_hash="0" * 64,
        made_at=piece.made_at,
        seconds=piece.seconds,
        seed=piece.seed,
        rounds=piece.rounds,
        chains=1,
        whole=True,
    )


class Processes:
    """A crew of processes on this machine.

    They end when they are done, when asked to stop, and when this process does: what they read ends
    then. A piece whose process dies is tried once more by another.
    """

    def __init__(self, size: int) -> None:
        self._size = max(1, size)

    @property
    def size(self) -> int:
        """How many there are."""
        return self._size

    def plan(self, pieces: Sequence[Piece], stop: Callable[[], bool]) -> list[Plan | None]:
        """As `Crew.plan`."""
        plans: list[Plan | None] = [None] * len(pieces)
        waiting = deque((number, 2) for number in range(len(pieces)))
        lock = threading.Lock()
        over = threading.Event()
        there: list[subprocess.Popen[bytes]] = []

        def work() -> None:
            process = None
            while not over.is_set():
                with lock:
                    if not waiting:
                        break
                    number, tries = waiting.popleft()
                if process is None:
                    process = _start()
                    with lock:
                        there.append(process)
                plan = _ask(process, pieces[number])
                if plan is None:
                    process.kill()
                    process = None
                    if tries > 1 and not over.is_set():
                        with lock:
                            waiting.append((number, tries - 1))
                plans[number] = plan
            if process is not None:
                assert process.stdin is not None
                process.stdin.close()
                process.wait()

        threads = [threading.Thread(target=work, daemon=True) for _ in range(min(self._size, len(pieces)))]
        for thread in threads:
            thread.start()
        while any(thread.is_alive() for thread in threads):
            threads[-1].join(0.05)
            for thread in threads:
                thread.join(0.01)
            if stop() and not over.is_set():
                over.set()
                with lock:
                    for process in there:
                        process.kill()
        return plans


def _start() -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "scheduler.planning.crew"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )


def _ask(process: subprocess.Popen[bytes], piece: Piece) -> Plan | None:
    """Have a process plan one piece; ``None`` if it died over it."""
    assert process.stdin is not None and process.stdout is not None
    too_long = threading.Timer(piece.seconds + GRACE_S, process.kill) if piece.rounds is None else None
    if too_long is not None:
        too_long.daemon = True
        too_long.start()
    try:
        pickle.dump(piece, process.stdin)
        process.stdin.flush()
        answer = pickle.load(process.stdout)  # from our own child
    except (OSError, EOFError, pickle.UnpicklingError, ValueError):
        return None
    finally:
        if too_long is not None:
            too_long.cancel()
    return answer if isinstance(answer, Plan) else None


def serve(source: BinaryIO, target: BinaryIO) -> None:
    """Plan the pieces that come in, until no more do."""
    while True:
        try:
            piece = pickle.load(source)  # from the process that started this one
        except EOFError:
            return
        pickle.dump(plan_piece(piece), target)
        target.flush()


if __name__ == "__main__":
    try:
        serve(sys.stdin.buffer, sys.stdout.buffer)
    except (KeyboardInterrupt, BrokenPipeError):
        sys.exit(1)
