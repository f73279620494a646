"""Looking at a file whose parts may be of any type: what isn't as it should be is passed over.

The schema reports wrong types; the rules here still judge everything else of the same file.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from scheduler.model.codec.fields import LARGEST
from scheduler.model.codec.instants import instant as read_instant
from scheduler.model.codec.offences import Path

#: An object of a file and where it is.
Place = tuple[Path, dict[str, Any]]


def child(holder: object, key: str, path: Path = ()) -> Iterator[Place]:
    """The object under a key, or nothing."""
    under = holder.get(key) if isinstance(holder, dict) else None
    if isinstance(under, dict):
        yield (*path, key), under


def entries(holder: object, key: str, path: Path = ()) -> Iterator[Place]:
    """The objects of the list under a key."""
    under = holder.get(key) if isinstance(holder, dict) else None
    if isinstance(under, list):
        for index, entry in enumerate(under):
            if isinstance(entry, dict):
                yield (*path, key, index), entry


def names(holder: dict[str, Any], key: str, path: Path = ()) -> Iterator[tuple[Path, str]]:
    """The texts of the list under a key."""
    under = holder.get(key)
    if isinstance(under, list):
        for index, entry in enumerate(under):
            if isinstance(entry, str) and entry:
                yield (*path, key, index), entry


def name(holder: dict[str, Any], key: str) -> str | None:
    """The text under a key, if it isn't empty."""
    value = holder.get(key)
    return value if isinstance(value, str) and value else None


def number(holder: dict[str, Any], key: str) -> float | None:
    """The number under a key, if it isn't out of all bounds."""
    value = holder.get(key)
    if isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) <= LARGEST:
        return value
    return None


def instant(holder: dict[str, Any], key: str) -> datetime | None:
    """The well-formed instant under a key."""
    value = holder.get(key)
    if not isinstance(value, str):
        return None
    try:
        return read_instant(value)
    except ValueError:
        return None


def length(holder: dict[str, Any], key: str) -> int | None:
    """How long the list under a key is."""
    value = holder.get(key)
    return len(value) if isinstance(value, list) else None


def has_list(holder: object, key: str) -> bool:
    """Whether there is a list to look names up in; without one, nothing in it can be called unknown."""
    return isinstance(holder, dict) and isinstance(holder.get(key), list)
