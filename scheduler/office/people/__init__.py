"""People of the shop: added and changed, signed in and out. Each change has its event beside it."""

from __future__ import annotations

from scheduler.office.people.changes import (
    activate,
    add_person,
    change_role,
    deactivate,
    end_sign_ins,
    forget_device,
    set_password,
    set_pin,
)
from scheduler.office.people.links import make_display_link, make_link, open_display, read_link, use_link
from scheduler.office.people.looks import Seen, everyone, has_people, known_devices, people_with_pin
from scheduler.office.people.signing_in import (
    Opened,
    SignInRefused,
    sign_in_by_password,
    sign_in_by_pin,
    trust_device,
)
from scheduler.office.people.sitting import find_device, find_sign_in, sign_out

__all__ = [
    "Opened",
    "Seen",
    "SignInRefused",
    "activate",
    "add_person",
    "change_role",
    "deactivate",
    "end_sign_ins",
    "everyone",
    "find_device",
    "find_sign_in",
    "forget_device",
    "has_people",
    "known_devices",
    "make_display_link",
    "make_link",
    "open_display",
    "people_with_pin",
    "read_link",
    "set_password",
    "set_pin",
    "sign_in_by_password",
    "sign_in_by_pin",
    "sign_out",
    "trust_device",
    "use_link",
]
