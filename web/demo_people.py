"""The demo shop's made-up people, and the links by which a newcomer becomes one of them."""

from __future__ import annotations

import secrets
from collections.abc import Sequence

from scheduler.office import people
from scheduler.office.clock import Clock
from scheduler.office.people.addresses import link_address
from scheduler.people import ROLE_WORDS, Role
from scheduler.store import Record

#: Sign-in name, name and role; the first one's link is what a newcomer opens.
DEMO_PEOPLE: tuple[tuple[str, str, Role], ...] = (
    ("mara", "Mara Lind", "manager"),
    ("jonas", "Jonas Abel", "operator"),
    ("ines", "Ines Okoro", "front_desk"),
)


def demo_lines(record: Record, clock: Clock, server: str) -> Sequence[str]:
    """Put the made-up people on record, if they are not, and say how to be each of them.

    The password is a new one for each demo and printed only here; a kept demo keeps it.
    """
    password = ""
    if not people.has_people(record):
        password = "-".join(secrets.token_hex(2) for _ in range(3))
        for id, name, role in DEMO_PEOPLE:
            people.add_person(record, clock, id, name, role)
            people.set_password(record, clock, id, password)
    with record.reading() as unit:
        known = [unit.people.get(id) for id, _, _ in DEMO_PEOPLE]
    place = server.removeprefix("http://").rstrip("/")
    lines = [f"Soakline is at {place}. Open one of these; each signs in once:"]
    for person in known:
        if person is not None and person.active:
            token = people.make_link(record, clock, person.id)
            lines.append(f"  {link_address(server, token)}   {person.name}, {ROLE_WORDS[person.role]}")
    if password:
        names = ", ".join(id for id, _, _ in DEMO_PEOPLE)
        lines.append(f"Later, or as somebody else: sign in as {names} with the password {password}")
    lines.append("(Ctrl+C ends it)")
    return lines
