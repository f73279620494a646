"""Who sits at the browser that sent this request, and what they may do."""

from __future__ import annotations

from dataclasses import dataclass

from flask import g

from scheduler.office.shop import OFFICE
from scheduler.people import ROLE_WORDS, Role, Way
from web.permissions import BEYOND_PIN, GRANTED


@dataclass(frozen=True, slots=True)
class Current:
    """The person of a request.

    Parameters
    ----------
    id : str
        The sign-in name; empty while nobody is on record and the shop's own machine is let in.
    way : Way or None
        How they signed in; ``None`` while nobody is on record.
    """

    id: str
    name: str
    role: Role
    way: Way | None

    @property
    def role_words(self) -> str:
        """The role as pages say it."""
        return ROLE_WORDS[self.role]

    def may(self, permission: str) -> bool:
        """True if the person has a permission of :mod:`web.permissions`."""
        if self.way == "pin" and permission in BEYOND_PIN:
            return False
        return permission in GRANTED[self.role]


#: Whoever sits at the shop's own machine while nobody is on record who could sign in.
NOBODY_YET = Current("", OFFICE, "manager", None)


def current_person() -> Current | None:
    """The signed-in person; ``None`` on pages that anyone may open."""
    found = g.get("person")
    assert found is None or isinstance(found, Current)
    return found


def may(permission: str) -> bool:
    """True if the person of this request has a permission; templates hide by it."""
    person = current_person()
    return person is not None and person.may(permission)


def may_see_names() -> bool:
    """True for who takes orders: customers, and parts under non-disclosure, have names for nobody else."""
    return may("orders")


def who() -> str:
    """The person's name, as events keep it."""
    person = current_person()
    return person.name if person is not None else OFFICE


def home() -> str:
    """The first page that the person may open."""
    if may("look"):
        return "/"
    return "/wall" if may("wall") else "/sign-in"
