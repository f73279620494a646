"""What is wrong with a file: where, with which value, and in words."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from scheduler.model.errors import SoaklineError

#: Where a value sits in a file: keys and list indices from the top.
Path = tuple[str | int, ...]
#: A path and what is wrong there, before the words that name the thing are put in front.
Found = tuple[Path, str]

_PLAIN_KEY = re.compile(r"[A-Za-z_][A-Za-z0-9_]*\Z")
_SHOWN_CHARACTERS = 80

#: What an entry of a list is called in a message, and the key that tells which one it is.
_CALLED = {
    "materials": ("material", "id"),
    "printers": ("printer", "id"),
    "heads": ("head", "id"),
    "nozzles": ("nozzle", "id"),
    "dryers": ("dryer", "id"),
    "ovens": ("oven", "id"),
    "spools": ("spool", "id"),
    "jobs": ("job", "id"),
    "dryer_runs": ("dryer run", "id"),
    "oven_runs": ("oven run", "id"),
    "unplaced": ("job", "job"),
    "forced": ("job", "job"),
}


@dataclass(frozen=True, slots=True)
class Offence:
    """One thing wrong in a file.

    Parameters
    ----------
    path : str
        Such as ``jobs[3].feeds[0].grams``; empty if the file as a whole is meant.
    value : object
        What stands there; ``None`` where nothing does.
    message : str
        In words, with the figure, and the id of the thing where it is known.
    """

    path: str
    value: object
    message: str

    def __str__(self) -> str:
        return f"{self.path}: {self.message}" if self.path else self.message


class BadFile(SoaklineError):
    """A file that can't be used, with every offence found in it (at least one)."""

    def __init__(self, offences: Iterable[Offence]) -> None:
        self.offences: tuple[Offence, ...] = tuple(offences)
        super().__init__("\n".join(str(offence) for offence in self.offences))


def whole_file(message: str, value: object = None) -> BadFile:
    """The error for a file that can't even be taken apart."""
    return BadFile([Offence("", value, message)])


def shown(value: object) -> str:
    """A value as a message spells it, shortened, safe to print anywhere."""
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, int) and not isinstance(value, bool) and value.bit_length() > 256:
        return f"a number of about {value.bit_length() * 0.30103:.0f} digits"
    return _printable(json.dumps(value, ensure_ascii=False, default=str))


def named(text: str) -> str:
    """An id within a sentence: bare if that is safe and clear, else quoted."""
    bare = text.isprintable() and text.strip() == text and 0 < len(text) <= _SHOWN_CHARACTERS
    return text if bare else shown(text)


def path_text(path: Path) -> str:
    """`jobs[3].feeds[0].grams` for ``("jobs", 3, "feeds", 0, "grams")``."""
    parts: list[str] = []
    for part in path:
        if isinstance(part, int):
            parts.append(f"[{part}]")
        elif _PLAIN_KEY.match(part):
            parts.append(f".{part}" if parts else part)
        else:
            parts.append(f"[{shown(part)}]")
    return "".join(parts)


def offences_in(raw: object, found: Iterable[Found]) -> tuple[Offence, ...]:
    """Findings made into offences, in the order in which their places stand in the file."""
    ordered = sorted(dict.fromkeys(found), key=lambda finding: _place(raw, finding[0]))
    return tuple(
        Offence(path_text(path), _at(raw, path), ": ".join(filter(None, (_whose(raw, path), text))))
        for path, text in ordered
    )


def _printable(text: str) -> str:
    short = text if len(text) <= _SHOWN_CHARACTERS else text[: _SHOWN_CHARACTERS - 2] + "…" + text[-1]
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in short)


def _steps_down(raw: object, path: Path) -> Iterator[tuple[str | int, object, object]]:
    """Each part of a path with the value that holds it and the value under it (``None``: nothing)."""
    for part in path:
        under: object = None
        if isinstance(raw, dict) and isinstance(part, str):
            under = raw.get(part)
        elif isinstance(raw, list) and isinstance(part, int) and part < len(raw):
            under = raw[part]
        yield part, raw, under
        raw = under


def _at(raw: object, path: Path) -> object:
    for _, _, under in _steps_down(raw, path):
        raw = under
    return raw


def _place(raw: object, path: Path) -> tuple[int, ...]:
    places: list[int] = []
    for part, holder, _ in _steps_down(raw, path):
        if isinstance(part, int):
            places.append(part)
        elif isinstance(holder, dict) and part in holder:
            places.append(list(holder).index(part))
        else:
            places.append(len(holder) if isinstance(holder, dict) else 0)
    return tuple(places)


def _whose(raw: object, path: Path) -> str:
    words: list[str] = []
    called: tuple[str, str] | None = None
    for part, _, under in _steps_down(raw, path):
        if isinstance(part, str):
            called = _CALLED.get(part)
        elif called and isinstance(under, dict):
            kind, key = called
            name = under.get(key, under.get("job"))
            if isinstance(name, str) and name:
                words.append(f"{kind} {named(name)}")
    return ", ".join(words)
