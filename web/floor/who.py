"""Who touches: the person that is signed in at this device."""

from __future__ import annotations

from web.people import may, who

__all__ = ["may_override", "who"]


def may_override() -> bool:
    """Whether the person may let objections pass."""
    return may("override")
