"""Signing in by password and, on a tablet that is known, by PIN."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from scheduler.model.errors import SoaklineError
from scheduler.office.clock import Clock
from scheduler.office.people.changes import tell
from scheduler.office.refused import Refused
from scheduler.people import (
    CLIENT,
    DEVICE_LASTS,
    PASSWORD,
    PIN,
    Hold,
    Person,
    Way,
    hash_of_token,
    hold,
    new_token,
    secret_matches,
    stay_of,
)
from scheduler.store import Event, Record, Unit

#: Longest secret that is looked at, characters; more is surely wrong.
LONGEST_TRY = 1000

WRONG: dict[Way, str] = {"password": "That name and password don't go together.", "pin": "That PIN is wrong."}
SHUT = (
    "This PIN is shut after too many wrong tries. Sign in with the password or a one-time link, "
    "or ask a manager for a new PIN."
)


class SignInRefused(SoaklineError):
    """A try that did not sign in; the words are the same whether or not there is such a person."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A new sign-in: the token for its cookie, and when it ends at the latest."""

    person: Person
    token: str
    ends_at: datetime


def sign_in_by_password(record: Record, clock: Clock, name: str, password: str, client: str) -> Opened:
    """Sign in with name and password from a network address; :class:`SignInRefused` if not right."""
    return _sign_in(record, clock, name.strip().lower(), password, "password", client)


def sign_in_by_pin(
    record: Record, clock: Clock, name: str, pin: str, client: str, device: str | None
) -> Opened:
    """Switch to a person by PIN.

    Parameters
    ----------
    device : str or None
        The tablet's token; without one that is known no PIN is looked at.
    """
    with record.reading() as unit:
        known = device and unit.sign_ins.device(hash_of_token(device))
    if not known or clock() >= known.ends_at:
        raise SignInRefused(
            "Here nobody has signed in with a password or a link and shared the tablet; PINs don't work yet."
        )
    return _sign_in(record, clock, name, pin, "pin", client)


def trust_device(record: Record, clock: Clock, person: Person, name: str) -> tuple[str, datetime]:
    """Let people switch by PIN at a browser; the token for its cookie, and until when."""
    token, now = new_token(), clock()
    with record.writing() as unit:
        ends_at = now + DEVICE_LASTS
        number = unit.sign_ins.add_device(
            hash_of_token(token), " ".join(name.split())[:40], person.id, now, ends_at
        )
        unit.events.append(Event(now, "tablet shared", person.id, "tablet", str(number)))
    return token, ends_at


def open_sign_in(unit: Unit, person: Person, way: Way, now: datetime) -> Opened:
    """Seat a person at a browser, within a unit of work, with its event."""
    token = new_token()
    ends_at = now + stay_of(person.role, way).whole
    unit.sign_ins.open(hash_of_token(token), person.id, way, now, ends_at)
    unit.sign_ins.forget(now, now - PIN.remembers)
    unit.events.append(Event(now, "signed in", person.id, "person", person.id, {"way": way}))
    return Opened(person, token, ends_at)


def _sign_in(record: Record, clock: Clock, name: str, secret: str, way: Way, client: str) -> Opened:
    now = clock()
    with record.writing() as unit:
        person = unit.people.get(name)
        # What was typed for a name may be a password by mistake, so it is not kept as it is.
        key = person.id if person else "?" + hash_of_token(name)[:32]
        held = _held(unit, key, way, client, now)
        stored = unit.people.hashes(name)[0 if way == "password" else 1]
        number = None if held else unit.sign_ins.note_try(key, way, client, now)
    if held:
        raise SignInRefused(_words(held, now))
    right = len(secret) <= LONGEST_TRY and secret_matches(secret, stored)
    with record.writing() as unit:
        person = unit.people.get(name)
        # The secret may have been changed while it was worked on; then what was right is so no more.
        same = unit.people.hashes(name)[0 if way == "password" else 1] == stored
        if right and same and person and person.active and number:
            unit.sign_ins.was_right(number)
            return open_sign_in(unit, person, way, now)
        held = _held(unit, key, way, client, now)
        if held:
            told = person.id if person else "unknown"
            until = held.until.isoformat() if held.until else "shut"
            tell(unit, clock, "locked out", told, told, way=way, client=client, until=until)
    raise SignInRefused(WRONG[way] + (f" {_words(held, now)}" if held else ""))


def _held(unit: Unit, key: str, way: Way, client: str, now: datetime) -> Hold | None:
    patience = PIN if way == "pin" else PASSWORD
    return hold(unit.sign_ins.failures(key, way), now, patience) or hold(
        unit.sign_ins.failures_from(client, now - CLIENT.remembers), now, CLIENT
    )


def _words(held: Hold, now: datetime) -> str:
    if held.until is None:
        return SHUT
    minutes = max(1, math.ceil((held.until - now).total_seconds() / 60))
    return f"Too many wrong tries: try again in {minutes} min."


def proven(record: Record, clock: Clock, person: Person, password: str, client: str) -> None:
    """Ask a signed-in person for the password once more; :class:`Refused` if it is wrong.

    Counted like any other try, so a browser left open can't be used to guess it.
    """
    now = clock()
    with record.writing() as unit:
        held = _held(unit, person.id, "password", client, now)
        stored = unit.people.hashes(person.id)[0]
        number = None if held else unit.sign_ins.note_try(person.id, "password", client, now)
    if held:
        raise Refused(_words(held, now))
    if len(password) > LONGEST_TRY or not secret_matches(password, stored):
        raise Refused("The present password is wrong.")
    with record.writing() as unit:
        assert number is not None
        unit.sign_ins.was_right(number)
