"""Links that sign in: once for a person, again and again for a screen on the wall."""

from __future__ import annotations

from datetime import timedelta

from scheduler.office.clock import Clock
from scheduler.office.people.changes import tell, the_person
from scheduler.office.people.signing_in import Opened, SignInRefused, open_sign_in
from scheduler.office.refused import Refused
from scheduler.office.shop import OFFICE
from scheduler.people import (
    DISPLAY_LINK_LASTS,
    LINK_LASTS,
    Person,
    checked_name,
    hash_of_token,
    id_from,
    new_token,
)
from scheduler.store import Record

SPENT = "This link no longer signs in: it was used, has ended or was withdrawn. Ask a manager for a new one."


def make_link(record: Record, clock: Clock, id: str, who: str = OFFICE, lasts: timedelta = LINK_LASTS) -> str:
    """A token that signs a person in once, within ``lasts``; earlier ones go on until theirs.

    Raises
    ------
    Refused
        If there is no such person, they are shut out, or it is a screen.
    """
    with record.writing() as unit:
        person = the_person(unit, id)
        if not person.active:
            raise Refused(f"{person.name} is shut out; let them in first")
        if person.role == "display":
            raise Refused(f"{person.name} is a screen; give it a link for screens")
        token, now = new_token(), clock()
        unit.sign_ins.add_link(hash_of_token(token), id, True, now, now + lasts)
        tell(unit, clock, "one-time link made", who, id, until=(now + lasts).isoformat())
    return token


def read_link(record: Record, clock: Clock, token: str) -> Person:
    """Whom a one-time link would sign in; :class:`SignInRefused` if nobody any more."""
    with record.reading() as unit:
        link = unit.sign_ins.link(hash_of_token(token))
    if link is None or not link.once or not link.opens(clock()):
        raise SignInRefused(SPENT)
    return link.person


def use_link(record: Record, clock: Clock, token: str, client: str) -> Opened:
    """Sign in by a one-time link, which is spent by it; two that use it at once, only one gets in."""
    now, hashed = clock(), hash_of_token(token)
    with record.writing() as unit:
        link = unit.sign_ins.link(hashed)
        if link is not None and link.once and link.opens(now):
            unit.sign_ins.use_link(hashed, now)
            unit.sign_ins.note_try(link.person.id, "link", client, now, good=True)
            return open_sign_in(unit, link.person, "link", now)
    raise SignInRefused(SPENT)


def make_display_link(
    record: Record, clock: Clock, name: str, who: str = OFFICE, lasts: timedelta = DISPLAY_LINK_LASTS
) -> str:
    """A token that shows the wall board, and nothing else, on a screen with this name.

    A screen that has a link gets a new one: the old link and what it opened end.
    """
    name = checked_name(name)
    id = f"wall-{id_from(name) or 'screen'}"
    with record.writing() as unit:
        found = unit.people.get(id)
        if not unit.people.list():
            raise Refused("there is no person yet; `soakline people add` adds the first manager")
        if found is None:
            unit.people.add(Person(id, name, "display"), clock())
            tell(unit, clock, "person added", who, id, name=name, role="display")
        elif found.role != "display":
            raise Refused(f"{id} is the sign-in name of a person; give the screen another name")
        unit.people.change(id, active=True, name=name)
        unit.sign_ins.end_all(id)
        unit.sign_ins.drop_links(id)
        token, now = new_token(), clock()
        unit.sign_ins.add_link(hash_of_token(token), id, False, now, now + lasts)
        tell(unit, clock, "link of a screen made", who, id, until=(now + lasts).isoformat())
    return token


def open_display(record: Record, clock: Clock, token: str) -> Opened:
    """Show the wall board on a screen; :class:`SignInRefused` if its link was withdrawn."""
    now, hashed = clock(), hash_of_token(token)
    with record.writing() as unit:
        link = unit.sign_ins.link(hashed)
        if link is not None and not link.once and link.opens(now):
            unit.sign_ins.use_link(hashed, now)
            return open_sign_in(unit, link.person, "display", now)
    raise SignInRefused(SPENT)
