"""Questions that take seconds: answered in a child process one after another, and kept for a while."""

from __future__ import annotations

import logging
import multiprocessing
import os
import threading
from collections import OrderedDict, deque
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from datetime import datetime
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from typing import Any, Literal, Protocol

from scheduler.model.errors import SoaklineError

#: Answers kept; the oldest goes first.
KEPT = 40
#: A child that works longer is ended, seconds.
LIMIT_S = 300.0

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Answer:
    """How far a question is.

    Attributes
    ----------
    state : str
        ``waiting`` (in the queue or worked on), ``done``, ``refused`` (the question makes no sense;
        ``message`` says why) or ``failed``.
    asked_at : datetime
        The shop's minute that it is about.
    value : object
        What the function returned; ``None`` until then.
    """

    state: Literal["waiting", "done", "refused", "failed"]
    asked_at: datetime
    value: Any = None
    message: str = ""


class Asking(Protocol):
    """Takes questions and keeps their answers; loses them when the server ends, and that does no harm."""

    def ask(self, key: Hashable, at: datetime, function: Callable[..., Any], *arguments: object) -> None:
        """Queue a question, unless it is waiting already; an older answer to it is forgotten."""

    def answer(self, key: Hashable) -> Answer | None:
        """How far it is; ``None`` if nobody asked, or the answer is kept no longer."""

    def close(self) -> None:
        """End the child and forget what waits."""


class AskingChild:
    """Answers each question in a process of its own, so that pages are never held up.

    It is spawned, not forked, for the reason that planning runs are: see `InProcessRunner`.
    """

    def __init__(self, limit_s: float = LIMIT_S) -> None:
        self._limit_s = limit_s
        self._context = multiprocessing.get_context("spawn")
        self._changed = threading.Condition()
        self._queue: deque[tuple[Hashable, Callable[..., Any], tuple[object, ...]]] = deque()
        self._answers: OrderedDict[Hashable, Answer] = OrderedDict()
        self._process: SpawnProcess | None = None
        self._thread: threading.Thread | None = None
        self._closed = False

    def ask(self, key: Hashable, at: datetime, function: Callable[..., Any], *arguments: object) -> None:
        """Queue a question; the first one starts the thread that minds the children."""
        with self._changed:
            known = self._answers.get(key)
            if self._closed or (known is not None and known.state == "waiting"):
                return
            self._keep(key, Answer("waiting", at))
            self._queue.append((key, function, arguments))
            if self._thread is None:
                self._thread = threading.Thread(target=self._mind, name="asking", daemon=True)
                self._thread.start()
            self._changed.notify_all()

    def answer(self, key: Hashable) -> Answer | None:
        with self._changed:
            return self._answers.get(key)

    def close(self) -> None:
        with self._changed:
            self._closed = True
            self._queue.clear()
            process = self._process
            self._changed.notify_all()
        if process is not None:
            process.terminate()
        if self._thread is not None:
            self._thread.join(timeout=10)

    def _keep(self, key: Hashable, answer: Answer) -> None:
        self._answers[key] = answer
        self._answers.move_to_end(key)
        while len(self._answers) > KEPT:
            self._answers.popitem(last=False)

    def _mind(self) -> None:
        while True:
            with self._changed:
                while not self._queue and not self._closed:
                    self._changed.wait()
                if self._closed:
                    return
                key, function, arguments = self._queue.popleft()
                at = self._answers[key].asked_at if key in self._answers else None
            if at is None:
                continue
            found = self._work(at, function, arguments)
            with self._changed:
                self._keep(key, found)

    def _work(self, at: datetime, function: Callable[..., Any], arguments: tuple[object, ...]) -> Answer:
        ours, theirs = self._context.Pipe(duplex=False)
        process = self._context.Process(target=_answer, args=(theirs, function, arguments), daemon=True)
        try:
            process.start()
        except Exception as error:
            # What can't be handed to a child must not end the thread that minds the others.
            log.exception("a question could not be handed over")
            ours.close()
            return Answer("failed", at, None, f"The trial could not begin ({type(error).__name__}: {error}).")
        finally:
            theirs.close()
        try:
            with self._changed:
                self._process = process
            if not ours.poll(self._limit_s):
                return Answer("failed", at, None, f"It took longer than {self._limit_s:g} s and was ended.")
            state, value = ours.recv()
        except (EOFError, OSError):
            return Answer("failed", at, None, "The process that tried it ended early; ask again.")
        finally:
            with self._changed:
                self._process = None
            if process.is_alive():
                process.join(2)
                process.kill()
            process.join()
            ours.close()
        return Answer("done", at, value) if state == "done" else Answer(state, at, None, value)


def _answer(pipe: Connection, function: Callable[..., Any], arguments: tuple[object, ...]) -> None:
    """Entry of the child."""
    # People at the pages and the plan come first.
    os.nice(10)
    try:
        pipe.send(("done", function(*arguments)))
    except SoaklineError as refusal:
        pipe.send(("refused", str(refusal)))
    except Exception as error:
        # Whoever asked must not wait for ever; the log keeps the whole story.
        log.exception("a question broke")
        pipe.send(("failed", f"The trial broke off ({type(error).__name__}: {error}). Nothing was changed."))
    finally:
        pipe.close()
