"""How long a sign-in, a link and a known tablet last."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from scheduler.people.person import Person, Role

#: How somebody signed in.
Way = Literal["password", "pin", "link", "display"]

WAY_WORDS: dict[Way, str] = {
    "password": "password",
    "pin": "PIN",
    "link": "one-time link",
    "display": "link of a screen",
}


@dataclass(frozen=True, slots=True)
class Stay:
    """A sign-in ends ``idle`` after its last use and ``whole`` after its beginning."""

    idle: timedelta
    whole: timedelta


_STAYS: dict[Role, Stay] = {
    "manager": Stay(timedelta(hours=1), timedelta(hours=12)),
    "front_desk": Stay(timedelta(hours=2), timedelta(hours=12)),
    "operator": Stay(timedelta(hours=4), timedelta(hours=12)),
    "display": Stay(timedelta(days=30), timedelta(days=400)),
}
#: A tablet that is left lying is the next person's, so a sign-in by PIN idles no longer than this.
_PIN_IDLE = timedelta(minutes=30)

#: A one-time link nobody used, and the link of a screen.
LINK_LASTS = timedelta(hours=24)
DISPLAY_LINK_LASTS = timedelta(days=365)
#: A tablet on which people may switch by PIN.
DEVICE_LASTS = timedelta(days=90)


def stay_of(role: Role, way: Way) -> Stay:
    """How long a sign-in of this role, begun this way, lasts."""
    stay = _STAYS[role]
    return Stay(min(stay.idle, _PIN_IDLE), stay.whole) if way == "pin" else stay


@dataclass(frozen=True, slots=True)
class SignIn:
    """A person at a browser."""

    person: Person
    way: Way
    made_at: datetime
    used_at: datetime
    ends_at: datetime


def is_live(sign_in: SignIn, now: datetime) -> bool:
    """True while a sign-in is good: its person active, not idle for too long, not past its end."""
    idle = stay_of(sign_in.person.role, sign_in.way).idle
    return sign_in.person.active and now < sign_in.ends_at and now - sign_in.used_at < idle


@dataclass(frozen=True, slots=True)
class Link:
    """An address that signs a person in: once, or (for a screen) until it ends."""

    person: Person
    once: bool
    made_at: datetime
    ends_at: datetime
    used_at: datetime | None

    def opens(self, now: datetime) -> bool:
        """True while it still signs in."""
        return self.person.active and now < self.ends_at and not (self.once and self.used_at)


@dataclass(frozen=True, slots=True)
class Device:
    """A tablet that people may share by PIN, and who said so."""

    number: int
    name: str
    person_id: str
    made_at: datetime
    ends_at: datetime
