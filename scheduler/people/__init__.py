"""Rules for people and sign-ins: roles, secrets, patience with wrong tries, how long a sign-in lasts."""

from __future__ import annotations

from scheduler.people.hashing import hash_of_token, hash_secret, new_token, secret_matches
from scheduler.people.patience import CLIENT, PASSWORD, PIN, Hold, Patience, hold
from scheduler.people.person import (
    ROLE_WORDS,
    ROLES,
    BadPerson,
    Person,
    Role,
    checked_id,
    checked_name,
    id_from,
)
from scheduler.people.secrets import BadSecret, checked_password, checked_pin
from scheduler.people.stay import (
    DEVICE_LASTS,
    DISPLAY_LINK_LASTS,
    LINK_LASTS,
    WAY_WORDS,
    Device,
    Link,
    SignIn,
    Stay,
    Way,
    is_live,
    stay_of,
)

__all__ = [
    "CLIENT",
    "DEVICE_LASTS",
    "DISPLAY_LINK_LASTS",
    "LINK_LASTS",
    "PASSWORD",
    "PIN",
    "ROLES",
    "ROLE_WORDS",
    "WAY_WORDS",
    "BadPerson",
    "BadSecret",
    "Device",
    "Hold",
    "Link",
    "Patience",
    "Person",
    "Role",
    "SignIn",
    "Stay",
    "Way",
    "checked_id",
    "checked_name",
    "checked_password",
    "checked_pin",
    "hash_of_token",
    "hash_secret",
    "hold",
    "id_from",
    "is_live",
    "new_token",
    "secret_matches",
    "stay_of",
]
