"""People added, given a role or a secret, and shut out."""

from __future__ import annotations

from typing import Any

from scheduler.office.clock import Clock
from scheduler.office.refused import Refused
from scheduler.office.shop import OFFICE
from scheduler.people import (
    ROLES,
    Person,
    Role,
    checked_id,
    checked_name,
    checked_password,
    checked_pin,
    hash_secret,
)
from scheduler.store import Event, Record, Unit


def add_person(record: Record, clock: Clock, id: str, name: str, role: str, who: str = OFFICE) -> Person:
    """Record someone who may sign in; the first one must be a manager, or nobody could add the next.

    Raises
    ------
    BadPerson
        If the sign-in name or the name can't be used.
    Refused
        If the sign-in name is taken, the role is none, or the first person is no manager.
    """
    person = Person(checked_id(id), checked_name(name), _checked_role(role))
    with record.writing() as unit:
        if unit.people.get(person.id) is not None:
            raise Refused(f"there is a person {person.id} already")
        if person.role != "manager" and not unit.people.list():
            raise Refused("the first person must be a manager: only a manager can add others on the pages")
        unit.people.add(person, clock())
        tell(unit, clock, "person added", who, person.id, name=person.name, role=person.role)
    return person


def change_role(record: Record, clock: Clock, id: str, role: str, who: str = OFFICE) -> None:
    """Give a person another role, at once; :class:`Refused` if no manager would be left."""
    wanted = _checked_role(role)
    with record.writing() as unit:
        person = the_person(unit, id)
        if person.role == wanted:
            return
        if "display" in (person.role, wanted):
            raise Refused("a screen stays a screen, and a person a person")
        if wanted != "manager":
            _keep_a_manager(unit, person)
        unit.people.change(id, role=wanted)
        unit.sign_ins.end_all(id)
        tell(unit, clock, "role changed", who, id, before=person.role, role=wanted)


def set_password(
    record: Record, clock: Clock, id: str, password: str, who: str = OFFICE, keep: str | None = None
) -> None:
    """Give a person a new password; their sign-ins end, but for the one with the token hash ``keep``.

    Raises
    ------
    BadSecret
        If the password is too easy to guess.
    """
    with record.reading() as unit:
        person = the_person(unit, id)
    if person.role == "display":
        raise Refused("a screen signs in by its link alone")
    # Worked out between two units of work: it takes long, and writers take turns.
    hashed = hash_secret(checked_password(password, person))
    with record.writing() as unit:
        unit.people.change(id, password_hash=hashed)
        unit.sign_ins.end_all(id, but=keep)
        unit.sign_ins.drop_links(id)
        unit.sign_ins.forgive(id, "password")
        tell(unit, clock, "password set", who, id)


def set_pin(record: Record, clock: Clock, id: str, pin: str | None, who: str = OFFICE) -> None:
    """Give a person a new PIN, or none; sign-ins by the old one end."""
    with record.reading() as unit:
        person = the_person(unit, id)
    if person.role == "display":
        raise Refused("a screen signs in by its link alone")
    hashed = None if pin is None else hash_secret(checked_pin(pin))
    with record.writing() as unit:
        unit.people.change(id, pin_hash=hashed)
        unit.sign_ins.end_all(id, ways=("pin",))
        unit.sign_ins.forgive(id, "pin")
        tell(unit, clock, "PIN set" if pin else "PIN taken away", who, id)


def deactivate(record: Record, clock: Clock, id: str, who: str = OFFICE) -> None:
    """Let a person sign in no more; sign-ins and links end at once."""
    with record.writing() as unit:
        person = the_person(unit, id)
        if not person.active:
            return
        _keep_a_manager(unit, person)
        unit.people.change(id, active=False)
        unit.sign_ins.end_all(id)
        unit.sign_ins.drop_links(id)
        tell(unit, clock, "person shut out", who, id)


def activate(record: Record, clock: Clock, id: str, who: str = OFFICE) -> None:
    """Let a person sign in again, with the secrets they had."""
    with record.writing() as unit:
        if not the_person(unit, id).active:
            unit.people.change(id, active=True)
            tell(unit, clock, "person let in again", who, id)


def end_sign_ins(record: Record, clock: Clock, id: str, who: str = OFFICE) -> int:
    """End all of a person's sign-ins and links; how many sign-ins they were."""
    with record.writing() as unit:
        the_person(unit, id)
        count = unit.sign_ins.end_all(id)
        links = unit.sign_ins.drop_links(id)
        tell(unit, clock, "sign-ins ended", who, id, sign_ins=count, links=links)
    return count


def forget_device(record: Record, clock: Clock, number: int, who: str = OFFICE) -> None:
    """Let nobody switch by PIN on a tablet any more; :class:`Refused` if it is unknown."""
    with record.writing() as unit:
        if not unit.sign_ins.drop_device(number):
            raise Refused(f"there is no tablet {number}")
        unit.events.append(Event(clock(), "tablet forgotten", who, "tablet", str(number)))


def the_person(unit: Unit, id: str) -> Person:
    """A person by sign-in name; :class:`Refused` if there is none."""
    person = unit.people.get(id)
    if person is None:
        raise Refused(f"there is no person {id[:60]}")
    return person


def tell(unit: Unit, clock: Clock, kind: str, who: str, id: str, **data: Any) -> None:
    """Append an event about a person."""
    unit.events.append(Event(clock(), kind, who, "person", id, data))


def _keep_a_manager(unit: Unit, person: Person) -> None:
    if person.role == "manager" and person.active and unit.people.count_managers() == 1:
        raise Refused(f"{person.name} is the only manager; make someone else one first")


def _checked_role(text: str) -> Role:
    for role in ROLES:
        if role == text:
            return role
    raise Refused(f"{text[:40]!r} is no role; the roles are {', '.join(ROLES)}")
