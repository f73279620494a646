"""Who sits at a browser, by what its cookies carry."""

from __future__ import annotations

from datetime import timedelta

from scheduler.office.clock import Clock
from scheduler.people import Device, SignIn, hash_of_token, is_live
from scheduler.store import Event, Record

#: A use is noted at most so often: a read must not become a write each time.
NOTED_EVERY = timedelta(minutes=1)


def find_sign_in(record: Record, clock: Clock, token: str, counts: bool = True) -> SignIn | None:
    """The sign-in behind a cookie's token; ``None`` if it has ended or never was.

    Parameters
    ----------
    counts : bool
        False for what an open page asks by itself: it must not keep a sign-in from idling.
    """
    now, hashed = clock(), hash_of_token(token)
    with record.reading() as unit:
        found = unit.sign_ins.get(hashed)
    if found is None or not is_live(found, now):
        return None
    if counts and now - found.used_at >= NOTED_EVERY:
        with record.writing() as unit:
            unit.sign_ins.touch(hashed, now)
    return found


def find_device(record: Record, clock: Clock, token: str) -> Device | None:
    """The shared tablet behind a cookie's token; ``None`` if it is not known."""
    with record.reading() as unit:
        found = unit.sign_ins.device(hash_of_token(token))
    return found if found and clock() < found.ends_at else None


def sign_out(record: Record, clock: Clock, token: str) -> None:
    """End the sign-in behind a cookie's token; nothing happens if it has ended."""
    hashed = hash_of_token(token)
    with record.writing() as unit:
        found = unit.sign_ins.get(hashed)
        if found is not None:
            unit.sign_ins.end(hashed)
            id = found.person.id
            unit.events.append(Event(clock(), "signed out", id, "person", id))
