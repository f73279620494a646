"""Forms to commands: what a touch on a floor page asks for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from scheduler.floor import Command, FloorRefused
from scheduler.floor import commands as wish
from scheduler.floor.things import Kind

Form = Mapping[str, str]


def _number(form: Form, name: str, told: str) -> float:
    text = form.get(name, "").strip().replace(",", ".")
    try:
        value = float(text)
    except ValueError:
        raise FloorRefused(f"{told} is a number, not “{text}”") from None
    if value != value or abs(value) > 1e6:
        raise FloorRefused(f"{told} can't be {text}")
    return value


def _whole(form: Form, name: str, told: str) -> int:
    value = _number(form, name, told)
    if value != int(value):
        raise FloorRefused(f"{told} is a whole number, not {value:g}")
    return int(value)


def _instant(form: Form, name: str, zone: ZoneInfo, told: str) -> datetime:
    text = form.get(name, "").strip()
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise FloorRefused(f"{told} is a date and time, not “{text}”") from None
    return found if found.tzinfo else found.replace(tzinfo=zone)


def _several(form: Form, name: str) -> tuple[str, ...]:
    """Ids from repeated fields or from one with spaces or commas between them."""
    values = form.getlist(name) if hasattr(form, "getlist") else [form.get(name, "")]
    if len(values) == 1:
        values = values[0].replace(",", " ").split() if name == "codes" else values
    return tuple(value.strip() for value in values if value.strip())


def _ended(form: Form, zone: ZoneInfo) -> Command:
    given = form.get("ended_at", "").strip()
    return wish.PrintEnded(
        form["job"], _instant(form, "ended_at", zone, "the print's end") if given else None
    )


_WISHES: dict[str, Callable[[Form, ZoneInfo], Command]] = {
    "pull": lambda form, zone: wish.Pull(form["job"], form["printer"]),
    "let-go": lambda form, zone: wish.LetGo(form["job"]),
    "mount": lambda form, zone: wish.MountSpool(form["job"], _whole(form, "feed", "the feed"), form["code"]),
    "heat": lambda form, zone: wish.ChamberOn(form["job"]),
    "begin": lambda form, zone: wish.FirstLayer(form["job"]),
    "ended": _ended,
    "off": lambda form, zone: wish.TakeOff(form["job"]),
    "failed": lambda form, zone: wish.Fail(
        form["job"],
        form.get("more", "").strip() or form.get("cause", ""),
        _whole(form, "good", "the number of good parts"),
        form.get("again", "") == "yes",
    ),
    "cleared": lambda form, zone: wish.ClearPlate(form["printer"]),
    "dry": lambda form, zone: wish.LoadDryer(
        form["dryer"], _number(form, "temp_c", "the setpoint"), _several(form, "codes")
    ),
    "dried": lambda form, zone: wish.EmptyDryer(form["run"]),
    "bake": lambda form, zone: wish.LoadOven(form["oven"], _several(form, "jobs")),
    "baked": lambda form, zone: wish.EmptyOven(form["run"]),
    "judge": lambda form, zone: wish.Inspect(
        form["job"],
        form.get("result", ""),
        _whole(form, "good", "the number of good parts") if form.get("result") == "pass" else 0,
        form.get("note", ""),
        form.get("again", "") == "yes",
    ),
    "hold": lambda form, zone: wish.Hold(form["job"], form.get("why", "")),
    "release": lambda form, zone: wish.Release(form["job"]),
    "down": lambda form, zone: wish.MachineDown(
        form["printer"], form.get("why", ""), _instant(form, "until", zone, "when it is expected back")
    ),
    "up": lambda form, zone: wish.MachineUp(form["printer"]),
    "weigh": lambda form, zone: wish.Weigh(
        form["code"], _number(form, "gross_g", "the gross mass"), _number(form, "body_g", "the body's mass")
    ),
    "empty": lambda form, zone: wish.SpoolEmpty(form["code"]),
    "quarantine": lambda form, zone: wish.Quarantine(form["code"], form.get("why", "")),
    "clear-spool": lambda form, zone: wish.ClearSpool(form["code"], form.get("wet", "") == "yes"),
    "wet": lambda form, zone: wish.FoundWet(form["code"], form.get("why", "")),
    "hand-over": lambda form, zone: wish.HandOver(form.get("note", "")),
    "undo": lambda form, zone: wish.Undo(_whole(form, "event", "the step's number")),
}


def wished(form: Form, zone: ZoneInfo) -> Command:
    """The command that a form asks for.

    Raises
    ------
    FloorRefused
        If a field is missing or can't be read; the message names it.
    """
    name = form.get("do", "")
    if name not in _WISHES:
        raise FloorRefused(f"there is no step “{name}”")
    try:
        return _WISHES[name](form, zone)
    except KeyError as missing:
        raise FloorRefused(f"the field {missing.args[0]} is missing") from None


def seen(form: Form) -> tuple[tuple[Kind, str, int], ...]:
    """What the page showed: lines of ``kind|id|version``."""
    found: list[tuple[Kind, str, int]] = []
    for line in _several(form, "seen"):
        kind, _, rest = line.partition("|")
        id, _, version = rest.rpartition("|")
        if kind not in ("job", "printer", "spool", "dryer run", "oven run") or not version.isdigit():
            raise FloorRefused(f"the page's state can't be read: {line}")
        found.append((kind, id, int(version)))  # type: ignore[arg-type]  # one of the five just tested
    return tuple(found)
