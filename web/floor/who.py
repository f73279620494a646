"""Who touches: the person that is signed in at this device."""

from __future__ import annotations

from flask import g


def who() -> str:
    """The person's name for events."""
    person = getattr(g, "person", None)
    return person.name if person is not None else "floor"


def may_override() -> bool:
    """Whether the person may let objections pass."""
    person = getattr(g, "person", None)
    return person is None or person.may("override")
