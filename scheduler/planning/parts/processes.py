"""A crew of processes on this machine."""

from __future__ import annotations

import logging
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection, wait

from scheduler.planning.parts.ground import Ground
from scheduler.planning.parts.part import Answer, Errand

#: Seconds between two looks at whether to give up.
LOOK_S = 0.1
#: New workers in the place of dead ones, in all, for each that there should be.
SPARES = 3
#: An errand is given to somebody else only with more than this part of its time left.
WORTH_WHILE = 0.4

log = logging.getLogger(__name__)


@dataclass
class Worker:
    """A child process and what it is at."""

    process: subprocess.Popen[bytes]
    pipe: Connection
    errand: Errand | None = None
    ready: bool = False
    sender: threading.Thread | None = None

    @staticmethod
    def started(ground: bytes) -> Worker:
        """A fresh process that knows the shop. It ends by itself when this end of its socket is gone."""
        ours, theirs = socket.socketpair()
        with theirs:
            process = subprocess.Popen(
                [sys.executable, "-m", "scheduler.planning.parts.child", str(theirs.fileno())],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                pass_fds=(theirs.fileno(),),
            )
        worker = Worker(process, Connection(ours.detach()))
        # It is more than the socket takes at once, and the process takes seconds to come up and read.
        worker.sender = threading.Thread(target=worker.send, args=(ground,), daemon=True)
        worker.sender.start()
        return worker

    def send(self, message: bytes | Errand) -> bool:
        """Hand something over; False if nobody is there to take it."""
        try:
            self.pipe.send(message)
        except OSError:
            return False
        return True

    def end(self) -> None:
        """End the process, whatever it is at."""
        self.process.kill()
        self.process.wait()
        if self.sender is not None:
            self.sender.join()
        self.pipe.close()


class Processes:
    """A crew of child processes. One that dies is replaced; its errand goes to the next that is free.

    They are fresh programs, not forks: a fork of a process with threads copies their locks locked. And they
    are no `multiprocessing` processes, because a planning run is one itself and may have no such children.

    Parameters
    ----------
    size : int
        How many.
    """

    def __init__(self, size: int) -> None:
        if size < 1:
            raise ValueError(f"a crew of {size} processes")
        self._size = size
        self._spares = SPARES * size
        self._workers: list[Worker] = []
        self._ground = b""

    @property
    def size(self) -> int:
        return len(self._workers) if self._ground else self._size

    @property
    def pids(self) -> list[int]:
        """The processes."""
        return [worker.process.pid for worker in self._workers]

    def begin(self, ground: Ground) -> None:
        self.close()
        self._ground = ground.packed
        self._workers = [Worker.started(self._ground) for _ in range(self._size)]

    def work(self, errands: list[Errand], wait_s: float | None, give_up: Callable[[], bool]) -> list[Answer]:
        began = time.monotonic()
        wanted = {errand.number for errand in errands}
        waiting = list(errands)
        answers: list[Answer] = []
        while True:
            spent = time.monotonic() - began
            left = None if wait_s is None else wait_s - spent
            waiting += self._bury(wanted)
            self._hand_out(waiting, spent)
            busy = [worker for worker in self._workers if worker.errand is not None]
            if give_up() or (left is not None and left <= 0.0):
                break
            if not any(worker.errand is not None and worker.errand.number in wanted for worker in busy):
                if not waiting or not self._workers:
                    break
            pause = LOOK_S if left is None else min(LOOK_S, left)
            for pipe in wait([worker.pipe for worker in self._workers], pause):
                answer = self._heard(next(worker for worker in self._workers if worker.pipe is pipe))
                if answer is not None:
                    answers.append(answer)
        return sorted(answers, key=lambda answer: answer.number)

    def close(self) -> None:
        for worker in self._workers:
            worker.end()
        self._workers = []

    def _hand_out(self, waiting: list[Errand], spent: float) -> None:
        """Give errands to who is free, with the time that is left; too late, they are dropped."""
        for worker in self._workers:
            if not waiting or not worker.ready or worker.errand is not None:
                continue
            errand = waiting[0]
            asked = errand
            if errand.rounds is None:
                left = errand.seconds - spent
                if left < WORTH_WHILE * errand.seconds:
                    waiting.clear()
                    return
                asked = replace(errand, seconds=left)
            if worker.send(asked):
                worker.errand = waiting.pop(0)

    def _heard(self, worker: Worker) -> Answer | None:
        try:
            answer = worker.pipe.recv()
        except (EOFError, OSError):
            worker.process.kill()
            worker.process.wait()
            return None
        if isinstance(answer, Answer):
            worker.errand = None
            return answer
        worker.ready = True
        return None

    def _bury(self, wanted: set[int]) -> list[Errand]:
        """Replace the dead; what they were at."""
        again = []
        for worker in [worker for worker in self._workers if worker.process.poll() is not None]:
            self._workers.remove(worker)
            worker.end()
            errand = worker.errand
            log.warning("a worker on a part of the shop has ended (%s)", worker.process.returncode)
            if self._spares > 0:
                self._spares -= 1
                self._workers.append(Worker.started(self._ground))
            if errand is not None and errand.number in wanted:
                again.append(errand)
        return again
