"""The floor's desk: a command is taken once, judged, and kept with its event in one transaction."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from scheduler.floor import (
    Asked,
    Command,
    Fact,
    FloorJob,
    FloorRefused,
    FloorRun,
    Ground,
    Kind,
    Things,
    Touched,
    apply,
    decide,
    opened,
    present,
    printed_again,
    to_data,
)
from scheduler.floor.apply import split
from scheduler.floor.commands import Undo
from scheduler.floor.straying import strays
from scheduler.model import Plan, Scenario
from scheduler.office.clock import Clock
from scheduler.office.floor_lessons import close_order, learn_from
from scheduler.office.shop import way_to
from scheduler.store import Event, NoShop, Record, Unit

#: A step can be taken back so long after it.
UNDO_WITHIN = timedelta(minutes=30)
RUN_KINDS: tuple[Kind, ...] = ("dryer run", "oven run")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a command.

    Parameters
    ----------
    event : int
        Its event's number.
    again : bool
        True if the same command had been taken before: nothing happened now.
    kind : str
        The fact's kind.
    strayed : str or None
        What the published plan did not foresee in it.
    """

    event: int
    again: bool
    kind: str = ""
    data: dict[str, Any] | None = None
    strayed: str | None = None


#: Version and scenario of a shop, number and content of its published plan.
Seen = Callable[[], tuple[int, Scenario, int | None, Plan | None] | None]


class FloorDesk:
    """Takes commands, and tells how the floor stands.

    One object serves all threads: it keeps the recorded shop, which changes seldom, and reads it
    again when its version or the published plan is another.

    Parameters
    ----------
    seen : callable
        A shop and its published plan that somebody else has read already, with the shop's version and
        the plan's number; used where these are the ones asked for.
    """

    def __init__(self, record: Record, clock: Clock, seen: Seen = lambda: None) -> None:
        self._record = record
        self._clock = clock
        self._seen = seen
        self._lock = threading.Lock()
        self._ground: tuple[tuple[int, int | None], Ground] | None = None
        self._touched: tuple[int, Touched] | None = None
        self._planned: tuple[tuple[int, int | None, datetime], Touched] | None = None

    def take(self, asked: Asked, command: Command) -> Outcome:
        """Carry a command out.

        Raises
        ------
        FloorRefused
            If something speaks against it; nothing is changed then.
        """
        if not asked.key.strip():
            raise FloorRefused("a command needs a key of its own")
        with self._record.writing() as unit:
            known = unit.floor.taken(asked.key)
            if known is not None:
                return Outcome(known, True)
            ground = self.ground(unit)
            if unit.floor.state() is None:
                self._open(unit, ground, asked)
            things = things_of(unit, ground)
            if isinstance(command, Undo):
                fact = _undoing(unit, ground, asked, command)
            else:
                fact = decide(ground, things, asked, command)
            apply(things, fact)
            return self._keep(unit, ground, asked, things, fact)

    def _keep(self, unit: Unit, ground: Ground, asked: Asked, things: Things, fact: Fact) -> Outcome:
        """Record a fact, the things that it changed, and what follows from it."""
        fact.data["found"] = things.found_data()
        # Also what it changed by the way, as the spool that made room: it is to be found there, too.
        fact = replace(fact, touches=tuple(dict.fromkeys((*fact.touches, *things.changed))))
        event = unit.floor.append(fact)
        before = [{"kind": kind, **to_data(thing)} for (kind, _), thing in things.before.items()]
        made = [list(key) for key in things.changed if key not in things.before]
        unit.floor.take(asked.key, event, [*before, *({"made": key} for key in made)])
        for (kind, _id), thing in things.changed.items():
            unit.floor.save(kind, thing)
        if fact.data.get("replaced_by"):
            _print_again(unit, ground, fact)
        learn_from(unit, ground, fact)
        close_order(unit, ground, fact, asked.at)
        strayed = strays(ground, fact)
        unit.floor.note(last_event=event)
        if strayed is not None:
            unit.floor.note(strayed_event=event, strayed_why=strayed)
        return Outcome(event, False, fact.kind, fact.data, strayed)

    def _open(self, unit: Unit, ground: Ground, asked: Asked) -> None:
        """The first report of all: what the plan said until now is taken as it stands."""
        fact = opened(ground, way_to(unit, asked.at).end(), asked.at, asked.who)
        event = unit.floor.append(fact)
        unit.floor.save_all(split(data) for data in fact.data["things"])
        unit.floor.open(event, asked.at)

    def ground(self, unit: Unit) -> Ground:
        """The recorded shop and the published plan, as of this unit of work."""
        version = unit.fleet.version()
        if version == 0:
            raise NoShop
        number = unit.plans.published_number()
        key = (version, number)
        with self._lock:
            kept = self._ground
            if kept is not None and kept[0] == key:
                return kept[1]
            same = kept is not None and kept[0][0] == version
            memo = kept[1].memo if kept is not None and same else {}
            seen = self._seen()
            if seen is not None and (seen[0], seen[2]) == key:
                ground = Ground(seen[1], seen[3], number, memo)
            else:
                scenario = kept[1].scenario if kept is not None and same else unit.fleet.load()
                stored = unit.plans.get(number) if number is not None else None
                ground = Ground(scenario, stored.plan if stored else None, number, memo)
            self._ground = (key, ground)
            return ground

    @contextmanager
    def looking(self) -> Iterator[tuple[Unit, Ground, Things]]:
        """One state of the floor, to look at."""
        with self._record.reading() as unit:
            ground, touched = self.ground(unit), self.touched(unit)
            runs = {kind: touched.runs(kind) for kind in RUN_KINDS}

            def open_runs(kind: Kind, machine: str) -> tuple[FloorRun, ...]:
                return tuple(
                    run
                    for run in runs[kind]
                    if run.machine == machine and run.ended_at is None and run.members
                )

            yield (
                unit,
                ground,
                Things(lambda kind, id: touched.things.get((kind, id)), ground.fresh, open_runs),
            )

    def touched(self, unit: Unit) -> Touched:
        """Everything that the floor has touched, read again only after another event."""
        state = unit.floor.state()
        if state is None:
            return self._as_planned(unit)
        with self._lock:
            kept = self._touched
        if kept is not None and kept[0] == state.last_event:
            return kept[1]
        if kept is not None and state.opened_event < kept[0] < state.last_event:
            things = dict(kept[1].things)
            for kind, id in unit.floor.touched_since(kept[0]):
                thing = unit.floor.read(kind, id)
                if thing is not None:
                    things[kind, id] = thing
            touched = Touched(things)
        else:
            touched = unit.floor.touched()
        with self._lock:
            self._touched = (state.last_event, touched)
        return touched

    def _as_planned(self, unit: Unit) -> Touched:
        """Before the first report: everything as the published plans say for this minute."""
        now = self._clock()
        key = (unit.fleet.version(), unit.plans.published_number(), now.replace(second=0, microsecond=0))
        with self._lock:
            if self._planned is not None and self._planned[0] == key:
                return self._planned[1]
        ground = self.ground(unit)
        known = {}
        if ground.plan_number is not None and ground.plan is not None:
            known[ground.plan_number] = ground.plan
        way = way_to(unit, now, scenario=ground.scenario, known=known)
        fact = opened(ground, way.end(), now, "")
        things = {(kind, thing.id): thing for kind, thing in map(split, fact.data["things"])}
        with self._lock:
            self._planned = (key, Touched(things))
        return self._planned[1]

    def standing(self) -> tuple[Ground, Touched, datetime] | None:
        """Ground, touched things and the present; ``None`` while the floor has reported nothing."""
        with self._record.reading() as unit:
            if unit.floor.state() is None:
                return None
            return self.ground(unit), self.touched(unit), self._clock()

    def set_limits(self, publish_alone: bool, later_min: int, who: str) -> None:
        """Say when a plan made after a surprise may be published by itself."""
        if not 0 <= later_min <= 10_000:
            raise FloorRefused(f"{later_min} minutes later is no limit; give 0 to 10,000")
        with self._record.writing() as unit:
            if unit.floor.state() is None:
                self._open(unit, self.ground(unit), Asked("", who, self._clock()))
            unit.floor.note(publish_alone=publish_alone, later_min=later_min)
            figures = {"publish_alone": publish_alone, "later_min": later_min}
            unit.events.append(
                Event(self._clock(), "limits of publishing set", who, "shop", "floor", figures)
            )


def things_of(unit: Unit, ground: Ground) -> Things:
    """The things of a unit of work."""
    return Things(unit.floor.read, ground.fresh, unit.floor.open_runs)


def present_shop(unit: Unit, ground: Ground, now: datetime) -> Scenario:
    """The shop of this minute as it was reported."""
    return present(ground, unit.floor.touched(), now)


def rebuilt(unit: Unit) -> Touched:
    """How everything stands, worked out from the events alone."""
    state = unit.floor.state()
    if state is None:
        return Touched({})
    kept: dict[Any, Any] = {}
    for event in unit.floor.facts(state.opened_event - 1):
        fact = Fact(event.at, event.kind, event.who, (event.subject_kind, event.subject_id), (), event.data)
        for data in event.data.get("found", ()):
            kind, thing = split(data)
            kept.setdefault((kind, thing.id), thing)
        things = Things(lambda kind, id: kept.get((kind, id)), lambda kind, id: None)
        apply(things, fact)
        kept.update(things.changed)
    return Touched(kept)


def _undoing(unit: Unit, ground: Ground, asked: Asked, command: Undo) -> Fact:
    """The fact that takes an event back; refused where anything depends on it."""
    kept = unit.floor.before(command.event)
    if kept is None:
        raise FloorRefused(f"event {command.event} is no step that can be taken back")
    before, undone = kept
    if undone:
        raise FloorRefused("this step was taken back already")
    subjects = unit.floor.subjects(command.event)
    later = unit.floor.later_on(command.event, subjects)
    if later is not None:
        raise FloorRefused(
            f"this step can't be taken back: “{later.kind}” ({later.subject_id}) came after it"
        )
    event = next(found for found in unit.floor.history(*subjects[0]) if found.number == command.event)
    if event.kind == "step undone":
        raise FloorRefused("a step that was taken back can't be taken back again; do it anew")
    if asked.at - event.at > UNDO_WITHIN:
        raise FloorRefused(
            f"this step was taken {round((asked.at - event.at) / timedelta(minutes=1))} min ago;"
            f" a step can be taken back within {UNDO_WITHIN // timedelta(minutes=1)} min"
        )
    again = event.data.get("replaced_by")
    if again:
        state = unit.floor.read("job", again)
        if isinstance(state, FloorJob) and state.state != "waiting":
            raise FloorRefused(f"this step can't be taken back: {again} is under way")
        unit.fleet.remove_job(again)
    unit.floor.mark_undone(command.event)
    return Fact(
        asked.at,
        "step undone",
        asked.who,
        subjects[0],
        subjects,
        {
            "of": command.event,
            "was": event.kind,
            "restore": [data for data in before if "made" not in data],
            "forget": [data["made"] for data in before if "made" in data],
        },
    )


def _print_again(unit: Unit, ground: Ground, fact: Fact) -> None:
    """Order what a failure or an inspection left missing."""
    job = ground.jobs[fact.data["job"]]
    again = printed_again(
        job, fact.data["replaced_by"], fact.data["missing"], fact.at.replace(second=0, microsecond=0)
    )
    unit.fleet.save_jobs((again,))
