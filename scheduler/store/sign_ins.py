"""Sign-ins, tries, links and tablets, within one unit of work."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Connection, delete, func, insert, select, update

from scheduler.people import Device, Link, SignIn, Way
from scheduler.store.people import person_of
from scheduler.store.rows.batch import table
from scheduler.store.tables import (
    PersonRow,
    SignInAttemptRow,
    SignInDeviceRow,
    SignInLinkRow,
    SignInSessionRow,
)


class SignIns:
    """Who sits at which browser, and what was tried."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._people = table(PersonRow)
        self._sessions = table(SignInSessionRow)
        self._attempts = table(SignInAttemptRow)
        self._links = table(SignInLinkRow)
        self._devices = table(SignInDeviceRow)

    # Sign-ins.

    def open(self, token_hash: str, person_id: str, way: Way, at: datetime, ends_at: datetime) -> None:
        """Record that a person sits at a browser."""
        self._connection.execute(
            insert(self._sessions).values(
                token_hash=token_hash, person=person_id, way=way, made_at=at, used_at=at, ends_at=ends_at
            )
        )

    def get(self, token_hash: str) -> SignIn | None:
        """A sign-in by its token's hash, whether still good or not."""
        sessions, people = self._sessions, self._people
        wanted = (
            select(
                people,
                sessions.c.way,
                sessions.c.made_at.label("begun_at"),
                sessions.c.used_at,
                sessions.c.ends_at,
            )
            .join(people, people.c.id == sessions.c.person)
            .where(sessions.c.token_hash == token_hash)
        )
        row = self._connection.execute(wanted).one_or_none()
        return (
            None if row is None else SignIn(person_of(row), row.way, row.begun_at, row.used_at, row.ends_at)
        )

    def of_person(self, person_id: str) -> tuple[tuple[Way, datetime, datetime], ...]:
        """How, since when and when last each of a person's sign-ins was used."""
        sessions = self._sessions
        wanted = select(sessions).where(sessions.c.person == person_id).order_by(sessions.c.made_at)
        return tuple((row.way, row.made_at, row.used_at) for row in self._connection.execute(wanted))

    def touch(self, token_hash: str, at: datetime) -> None:
        """Note that a sign-in was used."""
        sessions = self._sessions
        self._connection.execute(
            update(sessions).where(sessions.c.token_hash == token_hash).values(used_at=at)
        )

    def end(self, token_hash: str) -> None:
        """End one sign-in."""
        self._connection.execute(delete(self._sessions).where(self._sessions.c.token_hash == token_hash))

    def end_all(self, person_id: str, ways: Sequence[Way] = (), but: str | None = None) -> int:
        """End a person's sign-ins (only those begun in ``ways``), except one; how many they were."""
        sessions = self._sessions
        ended = delete(sessions).where(sessions.c.person == person_id)
        if ways:
            ended = ended.where(sessions.c.way.in_(ways))
        if but is not None:
            ended = ended.where(sessions.c.token_hash != but)
        return self._connection.execute(ended).rowcount

    def forget(self, now: datetime, tries_before: datetime) -> None:
        """Drop what no longer counts: sign-ins, links and tablets past their end, old tries."""
        for each in (self._sessions, self._links, self._devices):
            self._connection.execute(delete(each).where(each.c.ends_at < now))
        self._connection.execute(delete(self._attempts).where(self._attempts.c.at < tries_before))

    # Tries.

    def note_try(self, name: str, way: Way, client: str, at: datetime, good: bool = False) -> int:
        """Count a try, as a wrong one unless ``good``; its number."""
        number = (self._connection.execute(select(func.max(self._attempts.c.number))).scalar_one() or 0) + 1
        self._connection.execute(
            insert(self._attempts).values(number=number, name=name, way=way, client=client, at=at, good=good)
        )
        return number

    def was_right(self, number: int) -> None:
        """Turn a counted try into a right one."""
        tries = self._attempts
        self._connection.execute(update(tries).where(tries.c.number == number).values(good=True))

    def failures(self, name: str, way: Way) -> tuple[datetime, ...]:
        """Wrong tries of a name in one way since its last right one (in that way, or a stronger one)."""
        tries = self._attempts
        forgiving = ("password", "link", "pin") if way == "pin" else ("password", "link")
        last = self._connection.execute(
            select(func.max(tries.c.number)).where(
                tries.c.name == name, tries.c.good, tries.c.way.in_(forgiving)
            )
        ).scalar_one()
        wanted = select(tries.c.at).where(
            tries.c.name == name, tries.c.way == way, ~tries.c.good, tries.c.number > (last or 0)
        )
        return tuple(self._connection.execute(wanted).scalars())

    def failures_from(self, client: str, since: datetime) -> tuple[datetime, ...]:
        """Wrong tries of a network address since an instant, whoever they named."""
        tries = self._attempts
        wanted = select(tries.c.at).where(tries.c.client == client, ~tries.c.good, tries.c.at > since)
        return tuple(self._connection.execute(wanted).scalars())

    def forgive(self, name: str, way: Way) -> None:
        """Drop the wrong tries of a name in one way: its secret is a new one."""
        tries = self._attempts
        self._connection.execute(delete(tries).where(tries.c.name == name, tries.c.way == way, ~tries.c.good))

    # Links.

    def add_link(self, token_hash: str, person_id: str, once: bool, at: datetime, ends_at: datetime) -> None:
        """Record a link by its token's hash."""
        self._connection.execute(
            insert(self._links).values(
                token_hash=token_hash, person=person_id, once=once, made_at=at, ends_at=ends_at, used_at=None
            )
        )

    def link(self, token_hash: str) -> Link | None:
        """A link by its token's hash, whether still good or not."""
        links, people = self._links, self._people
        wanted = (
            select(people, links.c.once, links.c.made_at.label("begun_at"), links.c.ends_at, links.c.used_at)
            .join(people, people.c.id == links.c.person)
            .where(links.c.token_hash == token_hash)
        )
        row = self._connection.execute(wanted).one_or_none()
        return None if row is None else Link(person_of(row), row.once, row.begun_at, row.ends_at, row.used_at)

    def use_link(self, token_hash: str, at: datetime) -> None:
        """Note that a link was used."""
        links = self._links
        self._connection.execute(update(links).where(links.c.token_hash == token_hash).values(used_at=at))

    def drop_links(self, person_id: str) -> int:
        """Make a person's links worthless; how many they were."""
        dropped = delete(self._links).where(self._links.c.person == person_id)
        return self._connection.execute(dropped).rowcount

    # Tablets.

    def add_device(self, token_hash: str, name: str, person_id: str, at: datetime, ends_at: datetime) -> int:
        """Record a tablet that people may share by PIN; its number."""
        devices = self._devices
        number = (self._connection.execute(select(func.max(devices.c.number))).scalar_one() or 0) + 1
        self._connection.execute(
            insert(devices).values(
                number=number,
                token_hash=token_hash,
                name=name or f"tablet {number}",
                person=person_id,
                made_at=at,
                ends_at=ends_at,
            )
        )
        return number

    def device(self, token_hash: str) -> Device | None:
        """A tablet by its token's hash."""
        devices = self._devices
        row = self._connection.execute(
            select(devices).where(devices.c.token_hash == token_hash)
        ).one_or_none()
        return None if row is None else Device(row.number, row.name, row.person, row.made_at, row.ends_at)

    def devices(self) -> tuple[Device, ...]:
        """All tablets, the oldest first."""
        devices = self._devices
        return tuple(
            Device(row.number, row.name, row.person, row.made_at, row.ends_at)
            for row in self._connection.execute(select(devices).order_by(devices.c.number))
        )

    def drop_device(self, number: int) -> bool:
        """Let a tablet be unknown again; False if it was."""
        dropped = delete(self._devices).where(self._devices.c.number == number)
        return self._connection.execute(dropped).rowcount > 0
