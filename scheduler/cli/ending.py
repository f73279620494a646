"""What Ctrl-C and a plea to terminate do to a command that makes a plan."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Literal

from scheduler.cli.watching import Watching

#: Exit code of a command that was stopped and still wrote the best plan that it had.
EXIT_STOPPED = 3
#: Added to a signal's number: exit code of a command that the signal ended, as shells count.
EXIT_SIGNAL = 128
SIGNALS = (signal.SIGINT, signal.SIGTERM)

#: ``planning``: the first signal ends the search, a second one the command. ``writing``: a signal
#: waits until the file is whole. ``written``: a signal ends what is still to be told.
Phase = Literal["planning", "writing", "written"]


class Ending:
    """Notes the first signal and ends the command at once where nothing is to be had.

    Signals may come in another thread than that which plans.

    Parameters
    ----------
    watching : Watching
        Knows whether there is a plan yet, and says why the command ends.
    """

    def __init__(self, watching: Watching) -> None:
        self._watching = watching
        self._stopped = False
        self._phase: Phase = "planning"
        self._one_at_a_time = threading.Lock()

    def enter(self, phase: Phase) -> None:
        """Say how far the command is; waits for a signal that is being answered."""
        with self._one_at_a_time:
            self._phase = phase

    def asked(self) -> bool:
        """True once somebody wants the best plan so far."""
        return self._stopped

    def on_signal(self, number: int) -> None:
        """Stop the search, or the command."""
        with self._one_at_a_time:
            self._answer(number)

    def _answer(self, number: int) -> None:
        if self._phase == "writing":
            self._stopped = True
        elif self._phase == "written":
            self._leave(number, "Stopped; the plan is written.")
        elif not self._watching.has_plan:
            self._leave(number, "Stopped before there was a first plan; nothing was written.")
        elif self._stopped:
            self._leave(number, "Stopped at once; nothing was written.")
        else:
            self._stopped = True
            self._watching.say("Stopping with the best plan so far; once more ends at once, without a file.")

    def _leave(self, number: int, why: str) -> None:
        self._watching.say(why)
        sys.stdout.flush()
        # Without the usual end: that waits for threads which may be deep in machine code.
        os._exit(EXIT_SIGNAL + number)


@contextmanager
def stoppable(watching: Watching) -> Iterator[Ending]:
    """Let the signals reach an :class:`Ending` for as long as the block runs.

    A thread answers them. The main one could not while it is deep in machine code or waits for a
    file, and would never hear of a signal that comes between its last look and the wait.
    """
    ending = Ending(watching)
    heard, told = os.pipe()
    os.set_blocking(told, False)

    def listen() -> None:
        while number := os.read(heard, 1)[0]:
            if number in SIGNALS:
                ending.on_signal(number)

    listener = threading.Thread(target=listen, name="signals", daemon=True)
    wakeup = signal.set_wakeup_fd(told)
    before = {number: signal.signal(number, _leave_to_the_listener) for number in SIGNALS}
    listener.start()
    try:
        yield ending
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
        signal.set_wakeup_fd(wakeup)
        os.write(told, b"\0")
        listener.join()
        os.close(told)
        os.close(heard)


def _leave_to_the_listener(number: int, frame: FrameType | None) -> None:
    """Without a handler of Python's own, none of its signals wakes the listener."""
