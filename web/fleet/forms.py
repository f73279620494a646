"""Between a thing's object in a scenario file and the fields of a form."""

from __future__ import annotations

import re
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

from scheduler.model import Scenario
from scheduler.model.codec import BadFile, decode_scenario, encode_scenario, to_json
from web.fleet.entries import Entry, Kind, Rows

#: Empty rows that a form offers behind those that are filled.
SPARE_ROWS = 2
#: The most rows of a list that a form is read for.
MOST_ROWS = 60

Raw = dict[str, Any]


def look(raw: object, path: str) -> Any:
    """What stands at a dotted path; ``None`` where nothing does."""
    for part in path.split("."):
        if isinstance(raw, list):
            raw = raw[int(part)] if part.isdigit() and int(part) < len(raw) else None
        elif isinstance(raw, dict):
            raw = raw.get(part)
        else:
            return None
    return raw


def put(raw: Raw, path: str, value: object) -> None:
    """Set what stands at a dotted path, making what is missing on the way."""
    parts = path.split(".")
    here: Any = raw
    for part, following in zip(parts, [*parts[1:], ""], strict=True):
        last = following == ""
        make: Any = value if last else ([] if following.isdigit() else {})
        if isinstance(here, list):
            index = int(part)
            while len(here) <= index:
                here.append(None)
            if last or here[index] is None:
                here[index] = make
            here = here[index]
        else:
            if last or here.get(part) is None:
                here[part] = make
            here = here[part]


def read_value(text: str, entry: Entry, zone: tzinfo) -> object:
    """A field's text as a scenario file would have it; what can't be read stays text."""
    text = text.strip()
    if entry.how == "tags":
        return [word for word in (part.strip() for part in text.split(",")) if word]
    if entry.how == "text":
        return text
    if not text:
        return None
    if entry.how == "instant":
        try:
            written = datetime.fromisoformat(text)
        except ValueError:
            return text
        return (written if written.tzinfo else written.replace(tzinfo=zone)).isoformat()
    if entry.how in ("number", "optional"):
        for read in (int, float):
            try:
                return read(text)
            except ValueError:
                continue
    return text


def read_form(kind: Kind, form: Mapping[str, str], zone: tzinfo) -> Raw:
    """The object that a filled form describes."""
    raw: Raw = {}
    for section in kind.sections:
        texts = [form.get(entry.path, "") for entry in section.entries if entry.how != "tick"]
        absent = bool(section.whole) and not any(text.strip() for text in texts)
        if absent:
            if not section.whole[-1].isdigit():
                put(raw, section.whole, None)
            continue
        for entry in section.entries:
            put(raw, entry.path, _read(form, entry.path, entry, zone))
        for rows in section.rows:
            found = _read_rows(rows, form, zone)
            put(raw, rows.path, None if rows.nullable and not found else found)
    for head in raw.get("heads", ()):
        mounted = head.get("mounted") or {}
        head["mounted"] = {key: mounted.get(key) or None for key in ("spool", "material", "nozzle")}
    return raw


def _read(form: Mapping[str, str], name: str, entry: Entry, zone: tzinfo) -> object:
    if entry.how == "tick":
        return name in form
    return read_value(form.get(name, ""), entry, zone)


def _read_rows(rows: Rows, form: Mapping[str, str], zone: tzinfo) -> list[Raw]:
    found = []
    for number in range(MOST_ROWS):
        names = {entry: f"{rows.path}.{number}.{entry.path}" for entry in rows.entries}
        if not any(form.get(name, "").strip() for entry, name in names.items() if entry.how != "tick"):
            continue
        found.append({entry.path: _read(form, name, entry, zone) for entry, name in names.items()})
    return found


@dataclass(frozen=True, slots=True)
class Judged:
    """A shop with one thing changed; or what is wrong, by field, and about the rest."""

    scenario: Scenario | None
    by_field: Mapping[str, list[str]]
    other: tuple[str, ...]


def judge(shop: Scenario, kind: Kind, old: str | None, raw: Raw) -> Judged:
    """Whether the shop is sound with ``raw`` in the place of the thing ``old`` (``None``: added)."""
    whole = deepcopy(encode_scenario(shop))
    things = whole[kind.key]
    ids = [thing["id"] for thing in things]
    if old is None and raw.get("id") in ids:
        return Judged(None, {"id": [f"there is a {kind.word} {raw['id']} already"]}, ())
    place = ids.index(old) if old is not None else len(things)
    things[place:] = [raw, *things[place + 1 :]]
    try:
        return Judged(decode_scenario(to_json(whole)), {}, ())
    except BadFile as bad:
        mine = re.compile(rf"^{kind.key}\[{place}\]\.?(.*)$")
        by_field: dict[str, list[str]] = {}
        other = []
        for offence in bad.offences:
            match = mine.match(offence.path)
            if match is None:
                other.append(str(offence))
                continue
            path = re.sub(r"\[(\d+)\]", r".\1", match.group(1))
            by_field.setdefault(path, []).append(offence.message)
        return Judged(None, by_field, tuple(other))
