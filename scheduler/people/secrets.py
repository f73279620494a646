"""Which passwords and PINs may be chosen."""

from __future__ import annotations

from scheduler.model.errors import SoaklineError
from scheduler.people.person import Person

#: Length of a password, characters. No rule on its signs: length is what counts (NIST SP 800-63B, 5.1.1).
SHORTEST_PASSWORD = 10
LONGEST_PASSWORD = 200
#: Length of a PIN, digits.
SHORTEST_PIN = 4
LONGEST_PIN = 8
_RUN = "01234567890123456789"


class BadSecret(SoaklineError):
    """A password or PIN that is too easy to guess, or too long."""


def checked_password(text: str, person: Person) -> str:
    """A password that may be used by ``person``; :class:`BadSecret` with the reason if not."""
    if not SHORTEST_PASSWORD <= len(text) <= LONGEST_PASSWORD:
        raise BadSecret(
            f"a password needs {SHORTEST_PASSWORD} to {LONGEST_PASSWORD} characters; this has {len(text)}"
        )
    if len(set(text)) < 4:
        raise BadSecret(f"a password of {len(set(text))} different characters is too easy to guess")
    if text.strip().lower() in (person.id, person.name.lower()):
        raise BadSecret("a password can't be the name that goes with it")
    return text


def checked_pin(text: str) -> str:
    """A PIN that may be used; :class:`BadSecret` with the reason if not."""
    if not (text.isascii() and text.isdigit() and SHORTEST_PIN <= len(text) <= LONGEST_PIN):
        raise BadSecret(f"a PIN has {SHORTEST_PIN} to {LONGEST_PIN} digits and nothing else")
    if len(set(text)) == 1 or text in _RUN or text in _RUN[::-1]:
        raise BadSecret("a PIN of one digit repeated, or of digits in a row, is guessed first")
    return text
