"""Answers to what can't be done on the floor."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.model.errors import SoaklineError


class FloorRefused(SoaklineError):
    """A command that changed nothing, and why."""


class Objected(FloorRefused):
    """Rules speak against it; somebody with the right to it can let it pass, on record.

    Parameters
    ----------
    objections : sequence of str
        Each rule's reason, in words.
    """

    def __init__(self, objections: Sequence[str]) -> None:
        self.objections = tuple(objections)
        super().__init__("\n".join(self.objections))


class Outdated(FloorRefused):
    """The page showed a state that is no longer so."""


class Taken(FloorRefused):
    """Somebody else was first."""
