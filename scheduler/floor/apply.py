"""How each fact changes things: the one place that does, for commands of now and for replays.

A fact carries all that its change needs, so that the state of any instant follows from the facts
before it and nothing else.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from scheduler.floor.at_hand import Things
from scheduler.floor.facts import Fact
from scheduler.floor.things import (
    FloorJob,
    FloorRun,
    FloorSpool,
    JobState,
    Kind,
    Lengths,
    OnHead,
    Thing,
    from_data,
)
from scheduler.model import FeedChoice


def minute(instant: datetime) -> datetime:
    """The whole minute that an instant lies in."""
    return instant.replace(second=0, microsecond=0)


def apply(things: Things, fact: Fact) -> None:
    """Change ``things`` as ``fact`` says; :class:`KeyError` if its kind is unknown."""
    KINDS[fact.kind](things, fact)


def exposure_now(spool: FloorSpool, counts: bool, now: datetime) -> int:
    """A spool's exposure to room air at ``now``, minutes.

    Parameters
    ----------
    counts : bool
        Whether the air where it is now counts.
    """
    if not spool.dried or not counts or spool.counted_at is None:
        return spool.exposed_min
    return spool.exposed_min + max(0, (minute(now) - spool.counted_at) // timedelta(minutes=1))


def _instant(data: dict[str, Any], name: str, fact: Fact) -> datetime:
    given = data.get(name)
    return datetime.fromisoformat(given) if given else minute(fact.at)


def _touched_job(things: Things, fact: Fact, **changes: Any) -> FloorJob:
    job = things.job(fact.data["job"])
    changed = replace(job, version=job.version + 1, **changes)
    things.put("job", changed)
    return changed


def _touched_printer(things: Things, id: str, **changes: Any) -> None:
    printer = things.printer(id)
    things.put("printer", replace(printer, version=printer.version + 1, **changes))


def _moved(things: Things, fact: Fact, id: str, **changes: Any) -> None:
    """A spool after a change, its exposure counted up to it; ``data["aired"]`` tells where air counts."""
    spool = things.spool(id)
    now = minute(fact.at)
    counted = exposure_now(spool, id in fact.data.get("aired", ()), now)
    every: dict[str, Any] = {"version": spool.version + 1, "exposed_min": counted, "counted_at": now}
    things.put("spool", replace(spool, **(every | changes)))


def _opened(things: Things, fact: Fact) -> None:
    for data in fact.data["things"]:
        kind, thing = split(data)
        things.put(kind, thing)


def split(data: dict[str, Any]) -> tuple[Kind, Thing]:
    """Kind and thing of a plain form that names its kind."""
    kind: Kind = data["kind"]
    return kind, from_data(kind, {name: value for name, value in data.items() if name != "kind"})


def _pulled(things: Things, fact: Fact) -> None:
    data = fact.data
    feeds = tuple(FeedChoice(**feed) for feed in data["feeds"])
    _touched_job(
        things,
        fact,
        state="taken",
        printer=data["printer"],
        holder=fact.who,
        feeds=feeds,
        mounted=(False,) * len(feeds),
        chamber_c=data["chamber_c"],
        lengths=Lengths(**data["lengths"]),
        pulled_at=minute(fact.at),
        overrides=tuple(data.get("overrides", ())),
    )
    _touched_printer(things, data["printer"], job=data["job"])


def _let_go(things: Things, fact: Fact) -> None:
    job = things.job(fact.data["job"])
    _touched_job(
        things, fact, state="waiting", printer=None, holder=None, feeds=(), mounted=(), lengths=None,
        pulled_at=None, overrides=(),
    )  # fmt: skip
    assert job.printer is not None
    _touched_printer(things, job.printer, job=None)


def _mounted(things: Things, fact: Fact) -> None:
    data = fact.data
    job = things.job(data["job"])
    feed, spool_id, head = data["feed"], data["spool"], data["head"]
    feeds = list(job.feeds)
    feeds[feed] = FeedChoice(head, data["nozzle"], spool_id)
    done = list(job.mounted)
    done[feed] = True
    assert job.printer is not None
    _touched_job(
        things,
        fact,
        feeds=tuple(feeds),
        mounted=tuple(done),
        overrides=job.overrides + tuple(data.get("overrides", ())),
    )
    printer = things.printer(job.printer)
    for other in printer.heads:
        if other.head == head and other.spool and other.spool != spool_id:
            gone = things.spool(other.spool)
            if (gone.place, gone.place_id) == ("printer", job.printer):
                _moved(things, fact, other.spool, place="store", place_id=None)
    heads = tuple(
        OnHead(head, spool_id, data["material"], data["nozzle"])
        if on.head == head
        else (replace(on, spool=None) if on.spool == spool_id else on)
        for on in printer.heads
    )
    _off_heads(things, spool_id, but=job.printer)
    _touched_printer(things, job.printer, heads=heads)
    _moved(things, fact, spool_id, place="printer", place_id=job.printer, last_printer=job.printer)


def _chamber_on(things: Things, fact: Fact) -> None:
    job = things.job(fact.data["job"])
    assert job.lengths is not None
    _touched_job(
        things,
        fact,
        state="heating",
        heated_at=minute(fact.at),
        lengths=replace(job.lengths, preheat_min=fact.data["preheat_min"]),
    )


def _first_layer(things: Things, fact: Fact) -> None:
    job = things.job(fact.data["job"])
    _touched_job(
        things,
        fact,
        state="printing",
        started_at=minute(fact.at),
        overrides=job.overrides + tuple(fact.data.get("overrides", ())),
    )


def _ended(things: Things, fact: Fact) -> None:
    job = _touched_job(things, fact, state="cooling", ended_at=_instant(fact.data, "ended_at", fact))
    assert job.printer is not None
    _touched_printer(things, job.printer, chamber_c=job.chamber_c, chamber_at=job.ended_at)
    _drawn(things, fact)


def _drawn(things: Things, fact: Fact) -> None:
    for spool_id, grams in fact.data.get("drawn_g", {}).items():
        spool = things.spool(spool_id)
        _moved(things, fact, spool_id, grams=max(0.0, round(spool.grams - grams, 3)))


def _part_off(things: Things, fact: Fact) -> None:
    data = fact.data
    job = things.job(data["job"])
    assert job.printer is not None
    state: JobState = "off" if data["anneal"] else "to inspect"
    _touched_job(
        things,
        fact,
        state=state,
        unloaded_at=minute(fact.at),
        overrides=job.overrides + tuple(data.get("overrides", ())),
    )
    _freed(things, fact, job, data["chamber_c"], datetime.fromisoformat(data["chamber_at"]))


def _freed(things: Things, fact: Fact, job: FloorJob, chamber_c: float, chamber_at: datetime) -> None:
    assert job.printer is not None
    _touched_printer(
        things,
        job.printer,
        job=None,
        to_clear=False,
        clear_from=None,
        chamber_c=chamber_c,
        chamber_at=chamber_at,
    )
    for choice, on in zip(job.feeds, job.mounted, strict=True):
        if on and things.spool(choice.spool).place == "printer":
            _moved(things, fact, choice.spool, place="store", place_id=None)


def _failed(things: Things, fact: Fact) -> None:
    data = fact.data
    job = _touched_job(
        things,
        fact,
        state="failed",
        closed_at=minute(fact.at),
        cause=data["cause"],
        good=data["good"],
        scrapped=data["scrapped"],
        replaced_by=data.get("replaced_by"),
        oven_run=None,
    )
    if data.get("on_machine"):
        assert job.printer is not None
        _drawn(things, fact)
        _touched_printer(
            things,
            job.printer,
            to_clear=True,
            clear_from=datetime.fromisoformat(data["clear_from"]),
            chamber_c=data["chamber_c"],
            chamber_at=minute(fact.at),
        )
    if data.get("oven_run"):
        _left_run(things, data["oven_run"], job.id)


def _left_run(things: Things, run_id: str, member: str) -> None:
    run = things.run("oven run", run_id)
    kept = tuple(other for other in run.members if other != member)
    things.put("oven run", replace(run, version=run.version + 1, members=kept))


def _cleared(things: Things, fact: Fact) -> None:
    job = things.job(fact.data["job"])
    things.put("job", replace(job, version=job.version + 1))
    printer = things.printer(fact.data["printer"])
    _freed(things, fact, job, printer.chamber_c, printer.chamber_at or minute(fact.at))


def _dryer_loaded(things: Things, fact: Fact) -> None:
    data = fact.data
    run = FloorRun(
        id=data["run"],
        version=1,
        machine=data["dryer"],
        temp_c=data["temp_c"],
        members=tuple(data["spools"]),
        started_at=minute(fact.at),
        due_at=datetime.fromisoformat(data["due_at"]),
    )
    things.put("dryer run", run)
    for spool in run.members:
        _off_heads(things, spool)
        _moved(things, fact, spool, place="dryer", place_id=run.machine, last_printer=None)


def _dryer_emptied(things: Things, fact: Fact) -> None:
    data = fact.data
    run = things.run("dryer run", data["run"])
    now = minute(fact.at)
    things.put("dryer run", replace(run, version=run.version + 1, ended_at=now, whole=data["whole"]))
    for id in run.members:
        if id in data["dried"]:
            _moved(
                things, fact, id, place="store", place_id=None, dried=True, exposed_min=0,
                dried_at=now, dryer_run=run.id,
            )  # fmt: skip
        else:
            _moved(things, fact, id, place="store", place_id=None)


def _oven_loaded(things: Things, fact: Fact) -> None:
    data = fact.data
    run = FloorRun(
        id=data["run"],
        version=1,
        machine=data["oven"],
        temp_c=data["temp_c"],
        members=tuple(data["jobs"]),
        started_at=minute(fact.at),
        due_at=datetime.fromisoformat(data["due_at"]),
    )
    things.put("oven run", run)
    for id in run.members:
        job = things.job(id)
        things.put("job", replace(job, version=job.version + 1, state="baking", oven_run=run.id))


def _oven_emptied(things: Things, fact: Fact) -> None:
    data = fact.data
    run = things.run("oven run", data["run"])
    now = minute(fact.at)
    things.put("oven run", replace(run, version=run.version + 1, ended_at=now, whole=data["whole"]))
    for id in run.members:
        job = things.job(id)
        changes: dict[str, Any] = (
            {"state": "to inspect", "baked_at": now}
            if data["whole"]
            else {
                "state": "off",
                "oven_run": None,
            }
        )
        things.put("job", replace(job, version=job.version + 1, **changes))


def _inspected(things: Things, fact: Fact) -> None:
    data = fact.data
    result: str = data["result"]
    job = things.job(data["job"])
    if result == "rework":
        _touched_job(things, fact, state="rework", cause=data.get("note", ""))
        return
    _touched_job(
        things,
        fact,
        state="passed" if result == "pass" else "scrapped",
        good=job.good + data["good"],
        scrapped=job.scrapped + data["scrapped"],
        cause=data.get("note", ""),
        closed_at=minute(fact.at),
        replaced_by=data.get("replaced_by"),
    )


def _held(things: Things, fact: Fact) -> None:
    _touched_job(things, fact, state="held", cause=fact.data["why"])


def _released(things: Things, fact: Fact) -> None:
    _touched_job(things, fact, state="waiting", cause="")


def _down(things: Things, fact: Fact) -> None:
    data = fact.data
    _touched_printer(
        things,
        data["printer"],
        down_reason=data["why"],
        down_since=minute(fact.at),
        down_until=datetime.fromisoformat(data["until"]),
    )


def _up(things: Things, fact: Fact) -> None:
    _touched_printer(things, fact.data["printer"], down_reason=None, down_since=None, down_until=None)


def _weighed(things: Things, fact: Fact) -> None:
    data = fact.data
    _moved(things, fact, data["spool"], grams=data["grams"], note=data.get("note", ""))


def _emptied(things: Things, fact: Fact) -> None:
    _off_heads(things, fact.data["spool"])
    _moved(things, fact, fact.data["spool"], grams=0.0, state="empty", place="store", place_id=None)


def _off_heads(things: Things, spool_id: str, but: str | None = None) -> None:
    """No head counts the spool as its last one any more: putting it back costs a swap."""
    last = things.spool(spool_id).last_printer
    if last and last != but:
        printer = things.printer(last)
        heads = tuple(replace(on, spool=None) if on.spool == spool_id else on for on in printer.heads)
        _touched_printer(things, last, heads=heads)


def _quarantined(things: Things, fact: Fact) -> None:
    _moved(things, fact, fact.data["spool"], state="quarantined", note=fact.data["why"])


def _cleared_spool(things: Things, fact: Fact) -> None:
    wet = {"dried": False} if fact.data["wet"] else {}
    _moved(things, fact, fact.data["spool"], state="good", note="", **wet)


def _wet(things: Things, fact: Fact) -> None:
    _moved(things, fact, fact.data["spool"], dried=False, exposed_min=0, note=fact.data["why"])


def _handed_over(things: Things, fact: Fact) -> None:
    """Words only; nothing of the floor changes."""


def _undone(things: Things, fact: Fact) -> None:
    for data in fact.data["restore"]:
        kind, thing = split(data)
        present = things.get(kind, thing.id)
        version = (present.version if present else 0) + 1
        things.put(kind, replace(thing, version=version))
    for kind, id in fact.data["forget"]:
        run = things.run(kind, id)
        things.put(
            kind, replace(run, version=run.version + 1, members=(), ended_at=run.started_at, whole=False)
        )


#: What each kind of fact does.
KINDS: dict[str, Callable[[Things, Fact], None]] = {
    "floor opened": _opened,
    "job pulled": _pulled,
    "job let go": _let_go,
    "spool mounted": _mounted,
    "chamber on": _chamber_on,
    "first layer begun": _first_layer,
    "print ended": _ended,
    "part taken off": _part_off,
    "job failed": _failed,
    "plate cleared": _cleared,
    "dryer loaded": _dryer_loaded,
    "dryer emptied": _dryer_emptied,
    "oven loaded": _oven_loaded,
    "oven emptied": _oven_emptied,
    "part inspected": _inspected,
    "job held": _held,
    "job released": _released,
    "machine down": _down,
    "machine up": _up,
    "spool weighed": _weighed,
    "spool emptied": _emptied,
    "spool quarantined": _quarantined,
    "spool cleared": _cleared_spool,
    "spool found wet": _wet,
    "shift handed over": _handed_over,
    "step undone": _undone,
}
