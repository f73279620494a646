"""The things that one command or one replay of facts looks at and changes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast

from scheduler.floor.things import FloorJob, FloorPrinter, FloorRun, FloorSpool, Kind, Thing, to_data


class Things:
    """Things by kind and id, read when they are first asked for.

    Parameters
    ----------
    read : callable
        Gives the recorded thing of a kind and id, or ``None``.
    fresh : callable
        Gives what the shop's record says of a thing that the floor has not touched yet; ``None`` if
        there is no such thing.
    """

    def __init__(
        self,
        read: Callable[[Kind, str], Thing | None],
        fresh: Callable[[Kind, str], Thing | None],
        open_runs: Callable[[Kind, str], tuple[FloorRun, ...]] = lambda kind, machine: (),
    ) -> None:
        #: Runs of a dryer or oven that were not emptied yet, by kind of run and machine.
        self.open_runs = open_runs
        self._read = read
        self._fresh = fresh
        self._here: dict[tuple[Kind, str], Thing] = {}
        #: Things that the floor touches for the first time, as they were found.
        self.found: dict[tuple[Kind, str], Thing] = {}
        #: Things as they were before the first change, for undoing.
        self.before: dict[tuple[Kind, str], Thing] = {}
        self.changed: dict[tuple[Kind, str], Thing] = {}

    def get(self, kind: Kind, id: str) -> Thing | None:
        """A thing; ``None`` if there is none of this id."""
        key = (kind, id)
        if key not in self._here:
            thing = self._read(kind, id)
            if thing is None:
                thing = self._fresh(kind, id)
                if thing is None:
                    return None
                self.found[key] = thing
            self._here[key] = thing
        return self._here[key]

    def job(self, id: str) -> FloorJob:
        """A job that is known to be there."""
        return cast(FloorJob, self._sure("job", id))

    def printer(self, id: str) -> FloorPrinter:
        """A printer that is known to be there."""
        return cast(FloorPrinter, self._sure("printer", id))

    def spool(self, id: str) -> FloorSpool:
        """A spool that is known to be there."""
        return cast(FloorSpool, self._sure("spool", id))

    def run(self, kind: Kind, id: str) -> FloorRun:
        """A dryer or oven run that is known to be there."""
        return cast(FloorRun, self._sure(kind, id))

    def put(self, kind: Kind, thing: Thing) -> None:
        """Keep the changed thing."""
        key = (kind, thing.id)
        if key in self._here:
            self.before.setdefault(key, self._here[key])
        self._here[key] = thing
        self.changed[key] = thing

    def found_data(self) -> list[dict[str, Any]]:
        """Changed things that had not been touched before, in their plain form."""
        return [
            {"kind": kind, **to_data(thing)}
            for (kind, id), thing in self.found.items()
            if (kind, id) in self.changed
        ]

    def _sure(self, kind: Kind, id: str) -> Thing:
        thing = self.get(kind, id)
        if thing is None:
            raise LookupError(f"no {kind} {id}")
        return thing
