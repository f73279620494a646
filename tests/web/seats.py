"""People on record and signed in, without the cost of a password's hash."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from scheduler.office.people import add_person, make_display_link, make_link, open_display, use_link
from scheduler.people import Role
from scheduler.store import Record

#: A made-up person a role; a screen has no person.
PEOPLE: dict[str, tuple[str, Role]] = {
    "mia": ("Mia Testa", "manager"),
    "oto": ("Oto Prov", "operator"),
    "fee": ("Fee Muster", "front_desk"),
}
ID_OF: dict[Role, str] = {role: id for id, (_, role) in PEOPLE.items()}


def seat(record: Record, clock: Callable[[], datetime], role: Role = "manager") -> str:
    """The cookie's token of somebody of a role who has just signed in."""
    with record.reading() as unit:
        known = {person.id for person in unit.people.list()}
    for id, (name, each) in PEOPLE.items():
        if id not in known:
            add_person(record, clock, id, name, each)
    if role == "display":
        return open_display(record, clock, make_display_link(record, clock, "hall")).token
    return use_link(record, clock, make_link(record, clock, ID_OF[role]), "192.0.2.7").token
