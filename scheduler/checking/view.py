"""A plan and its scenario joined by id, with every instant in whole minutes from ``plan_start``."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from scheduler.model import (
    Dryer,
    DryerRun,
    FeedChoice,
    Head,
    Job,
    Material,
    Oven,
    OvenRun,
    Plan,
    PlannedJob,
    Printer,
    Scenario,
    Spool,
)

CHANGEOVER, PREHEAT, START, PRINT, COOLDOWN, UNLOAD = range(6)


@dataclass(frozen=True, slots=True)
class Stint:
    """A job's time on a printer: its six steps and what was chosen for it.

    ``starts`` and ``ends`` are minutes, one for each step; ``begun`` counts the steps that began
    before ``plan_start``.
    """

    job: Job
    planned: PlannedJob
    printer: Printer
    heads: tuple[Head, ...]
    nozzles: tuple[str, ...]
    spools: tuple[Spool, ...]
    materials: tuple[Material, ...]
    starts: tuple[int, ...]
    ends: tuple[int, ...]
    begun: int

    @property
    def who(self) -> str:
        return f"job {self.job.id}"

    @property
    def under_way(self) -> bool:
        """True if the job began before ``plan_start``."""
        return self.begun > 0

    @property
    def first(self) -> int:
        """The minute from which the printer and the spools belong to the job."""
        return self.starts[CHANGEOVER]

    @property
    def last(self) -> int:
        """The minute at which they no longer do."""
        return self.ends[UNLOAD]

    def length(self, step: int) -> int:
        """Minutes of one step."""
        return self.ends[step] - self.starts[step]

    def must_follow(self, step: int) -> bool:
        """True if the step is bound to a begun one, so that neither staffing nor downtime stops it."""
        return step >= self.begun and (
            (self.begun == START + 1 and step in (PRINT, COOLDOWN))
            or (self.begun == PRINT + 1 and step == COOLDOWN)
        )


@dataclass(frozen=True, slots=True)
class Drying:
    """A dryer run in minutes."""

    run: DryerRun
    dryer: Dryer
    spools: tuple[Spool, ...]
    start: int
    end: int
    begun: bool

    @property
    def who(self) -> str:
        return f"dryer run {self.run.id}"


@dataclass(frozen=True, slots=True)
class Annealing:
    """An oven run in minutes."""

    run: OvenRun
    oven: Oven
    start: int
    end: int
    begun: bool

    @property
    def who(self) -> str:
        return f"oven run {self.run.id}"


@dataclass(frozen=True, slots=True)
class Mount:
    """A spool on a head from a changeover's start to the unload's end."""

    stint: Stint
    feed: int
    start: int
    end: int

    @property
    def head(self) -> Head:
        return self.stint.heads[self.feed]

    @property
    def place(self) -> tuple[str, str]:
        """Printer and head."""
        return self.stint.printer.id, self.head.id


@dataclass(slots=True)
class View:
    """Everything that the rules look at.

    ``on_printer`` and ``on_head`` are in order of changeovers; ``mounts`` and ``dryings_of`` belong to
    a spool's id, in order of time. ``named`` are the job ids that the plan places, well-formed or not.
    """

    scenario: Scenario
    plan: Plan
    zone: tzinfo | None
    jobs: dict[str, Job]
    materials: dict[str, Material]
    spools: dict[str, Spool]
    stints: dict[str, Stint] = field(default_factory=dict)
    named: set[str] = field(default_factory=set)
    dryings: list[Drying] = field(default_factory=list)
    annealings: list[Annealing] = field(default_factory=list)
    on_printer: dict[str, list[Stint]] = field(default_factory=lambda: defaultdict(list))
    on_head: dict[tuple[str, str], list[Mount]] = field(default_factory=lambda: defaultdict(list))
    mounts: dict[str, list[Mount]] = field(default_factory=lambda: defaultdict(list))
    dryings_of: dict[str, list[Drying]] = field(default_factory=lambda: defaultdict(list))
    annealing_of: dict[str, list[Annealing]] = field(default_factory=lambda: defaultdict(list))

    def when(self, minute: int) -> str:
        """The instant in the shop's time zone, for a sentence."""
        instant = self.scenario.site.instant(minute).astimezone(self.zone)
        return f"{instant:%a} {instant.day} {instant:%b %H:%M}"

    def between(self, start: int, end: int) -> str:
        """A stretch, for a sentence."""
        return f"{self.when(start)} to {self.when(end)}"

    def index(self) -> None:
        """Put stints and runs in order of time by printer, head and spool."""
        for stint in self.stints.values():
            self.on_printer[stint.printer.id].append(stint)
            for feed, spool in enumerate(stint.spools):
                mount = Mount(stint, feed, stint.first, stint.last)
                self.on_head[mount.place].append(mount)
                self.mounts[spool.id].append(mount)
        for drying in self.dryings:
            for spool in drying.spools:
                self.dryings_of[spool.id].append(drying)
        for annealing in self.annealings:
            for job in annealing.run.jobs:
                self.annealing_of[job].append(annealing)
        for stints in self.on_printer.values():
            stints.sort(key=lambda stint: (stint.first, stint.last))
        for mounts in (*self.on_head.values(), *self.mounts.values()):
            mounts.sort(key=lambda mount: (mount.start, mount.end))
        for dryings in self.dryings_of.values():
            dryings.sort(key=lambda drying: (drying.start, drying.end))


def zone_of(name: str) -> tzinfo | None:
    """The shop's time zone; ``None`` (the machine's own) never arises for a scenario that was read."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return None


def choices_text(choices: Iterable[FeedChoice]) -> str:
    """Heads, nozzles and spools, for a sentence."""
    return ", ".join(f"{choice.head}/{choice.nozzle}/{choice.spool}" for choice in choices)
