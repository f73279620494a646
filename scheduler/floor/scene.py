"""One command's view: who asks, when, of which things, on which ground."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from scheduler.floor.apply import exposure_now, minute
from scheduler.floor.at_hand import Things
from scheduler.floor.commands import Asked
from scheduler.floor.facts import Fact
from scheduler.floor.ground import Ground
from scheduler.floor.refusals import FloorRefused, Objected, Outdated
from scheduler.floor.things import FloorJob, FloorPrinter, FloorSpool, Kind
from scheduler.model import Job, Printer


@dataclass(frozen=True)
class Scene:
    """What a rule may look at."""

    ground: Ground
    things: Things
    asked: Asked

    @property
    def now(self) -> datetime:
        """The whole minute of the command."""
        return minute(self.asked.at)

    def expect_seen(self) -> None:
        """Refuse where a thing was changed since the person's page was made."""
        for kind, id, version in self.asked.seen:
            thing = self.things.get(kind, id)
            if thing is not None and thing.version != version:
                raise Outdated(f"{kind} {id} has changed since this page was made; look again")

    def job(self, id: str) -> tuple[Job, FloorJob]:
        """A job as ordered and as it stands."""
        if id not in self.ground.jobs:
            raise FloorRefused(f"there is no job {id}")
        return self.ground.jobs[id], self.things.job(id)

    def printer(self, id: str) -> tuple[Printer, FloorPrinter]:
        """A machine as built and as it stands."""
        if id not in self.ground.printers:
            raise FloorRefused(f"there is no printer {id}")
        return self.ground.printers[id], self.things.printer(id)

    def spool(self, id: str) -> FloorSpool:
        """A spool as it stands."""
        if id not in self.ground.spools:
            raise FloorRefused(f"there is no spool {id}")
        return self.things.spool(id)

    def exposed_min(self, spool: FloorSpool) -> int:
        """A spool's exposure to room air now, minutes."""
        return exposure_now(spool, self._counts(spool), self.now)

    def _counts(self, spool: FloorSpool) -> bool:
        mounted = spool.place == "printer" and spool.place_id is not None
        printer = self.things.printer(spool.place_id) if mounted and spool.place_id else None
        return self.ground.counts(spool, printer)

    def aired(self, ids: Iterable[str]) -> list[str]:
        """Those of the spools for which the air counts where they are now."""
        return [id for id in ids if self._counts(self.things.spool(id))]

    def weigh_up(self, objections: list[str]) -> tuple[str, ...]:
        """What is let pass of the objections, in words; :class:`Objected` if they stand."""
        if not objections:
            return ()
        if not (self.asked.override and self.asked.may_override):
            raise Objected(objections)
        return tuple(f"{text} – let pass by {self.asked.who}: {self.asked.override}" for text in objections)

    def clock(self, instant: datetime) -> str:
        """An instant for people: weekday and time in the shop's zone."""
        return instant.astimezone(ZoneInfo(self.ground.site.timezone)).strftime("%a %H:%M")

    def fact(
        self,
        kind: str,
        subject: tuple[Kind | str, str],
        touches: Iterable[tuple[Kind | str, str]],
        **data: Any,
    ) -> Fact:
        """A fact of this command; its subject is the first thing that it touches."""
        every = tuple(dict.fromkeys((subject, *touches)))
        return Fact(self.asked.at, kind, self.asked.who, subject, every, data)

    @staticmethod
    def must(held: bool, text: str) -> None:
        """Refuse, with a reason that nobody can let pass."""
        if not held:
            raise FloorRefused(text)
