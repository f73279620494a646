"""What the people page and the commands show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.office.clock import Clock
from scheduler.people import PASSWORD, PIN, Device, Hold, Person, Way, hold
from scheduler.store import Record


@dataclass(frozen=True, slots=True)
class Seen:
    """A person, the sign-ins they have (way, since, last used), and whether a way is held."""

    person: Person
    sign_ins: tuple[tuple[Way, datetime, datetime], ...]
    password_held: Hold | None
    pin_held: Hold | None


def everyone(record: Record, clock: Clock) -> tuple[Seen, ...]:
    """All people by name, those shut out last."""
    now = clock()
    with record.reading() as unit:
        seen = [
            Seen(
                person,
                unit.sign_ins.of_person(person.id),
                hold(unit.sign_ins.failures(person.id, "password"), now, PASSWORD),
                hold(unit.sign_ins.failures(person.id, "pin"), now, PIN),
            )
            for person in unit.people.list()
        ]
    return tuple(sorted(seen, key=lambda each: not each.person.active))


def people_with_pin(record: Record) -> tuple[Person, ...]:
    """Who can be switched to by PIN."""
    with record.reading() as unit:
        return tuple(person for person in unit.people.list() if person.active and person.has_pin)


def has_people(record: Record) -> bool:
    """True once somebody may sign in."""
    with record.reading() as unit:
        return any(person.active and person.role != "display" for person in unit.people.list())


def known_devices(record: Record) -> tuple[Device, ...]:
    """The tablets that people may share by PIN."""
    with record.reading() as unit:
        return unit.sign_ins.devices()
