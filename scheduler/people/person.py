"""A person of the shop and the four roles."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Literal

from scheduler.model.errors import SoaklineError

Role = Literal["manager", "operator", "front_desk", "display"]

ROLES: tuple[Role, ...] = ("manager", "operator", "front_desk", "display")
ROLE_WORDS: dict[Role, str] = {
    "manager": "manager",
    "operator": "operator",
    "front_desk": "front desk",
    "display": "display",
}

#: Longest sign-in name and longest name, characters.
LONGEST_ID = 32
LONGEST_NAME = 80
_ID = re.compile(r"[a-z0-9][a-z0-9-]*[a-z0-9]\Z", re.ASCII)


class BadPerson(SoaklineError):
    """A sign-in name or name that can't be used."""


@dataclass(frozen=True, slots=True)
class Person:
    """Someone (or a screen on the wall) that may sign in.

    Parameters
    ----------
    id : str
        What they sign in with; events name them by it, so it never changes.
    active : bool
        False once they may no longer sign in; the row stays, because events name it.
    has_password, has_pin : bool
        Which ways of signing in are set up; the secrets themselves never leave the record.
    """

    id: str
    name: str
    role: Role
    active: bool = True
    has_password: bool = False
    has_pin: bool = False


def checked_id(text: str) -> str:
    """A sign-in name in its one spelling; :class:`BadPerson` if it can't be one."""
    id = text.strip().lower()
    if len(id) > LONGEST_ID or not _ID.match(id):
        raise BadPerson(
            f"the sign-in name {text.strip()[:60]!r} can't be used: 2 to {LONGEST_ID} letters a to z, digits "
            "or hyphens, no hyphen first or last"
        )
    return id


def checked_name(text: str) -> str:
    """A name as pages show it; :class:`BadPerson` if it is empty, too long or holds control signs."""
    name = " ".join(text.split())
    if not name or len(name) > LONGEST_NAME:
        raise BadPerson(f"a name needs 1 to {LONGEST_NAME} characters; this has {len(name)}")
    if any(unicodedata.category(sign) in ("Cc", "Cf", "Cs") for sign in name):
        raise BadPerson("a name can't hold signs that nobody sees")
    return name


def id_from(name: str) -> str:
    """A sign-in name made from a name, for a screen that never types it."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[: LONGEST_ID - len("wall-")].strip("-")
