"""Undo every change of a state since a mark; on plain lists, for comparison with the compiled journal."""

from __future__ import annotations

from scheduler.planning.kernel.tables import State


class Log:
    """What stood in a state's lists before, newest last."""

    def __init__(self) -> None:
        self.on = False
        self.entries: list[tuple[Logged, int, float]] = []
        self.kept: dict[str, list[float]] = {}


class Logged(list):  # type: ignore[type-arg]  # of int or float, as the field says
    """A list that notes in a log what its stores replace."""

    def __init__(self, values: list[int] | list[float], log: Log) -> None:
        super().__init__(values)
        self.log = log

    def __setitem__(self, index, value):  # type: ignore[no-untyped-def]  # list's own overloads
        if self.log.on:
            self.log.entries.append((self, index, self[index]))
        super().__setitem__(index, value)


def mark(S: State) -> None:
    """Begin to note changes, forgetting earlier ones."""
    S.log.on = True
    S.log.entries.clear()


def undo(S: State) -> None:
    """Take every change since the mark back."""
    for values, index, old in reversed(S.log.entries):
        list.__setitem__(values, index, old)
    S.log.entries.clear()


def recorded(S: State) -> int:
    """How much the journal holds, -1 if a change was lost."""
    return 2 * len(S.log.entries)


def note(S: State) -> None:
    """Let the changes since the mark stand; the next `keep_noted` takes them over."""


def keep_noted(S: State) -> None:
    """As `keep`; on pools only what was noted since the plan was last kept is copied."""
    keep(S)


def keep(S: State) -> None:
    """Keep the plan as it is beside the one that is worked on."""
    S.log.kept = {name: list(values) for name, values in S._asdict().items() if isinstance(values, Logged)}
