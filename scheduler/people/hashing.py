"""Secrets as the record keeps them: passwords and PINs by argon2id, tokens by SHA-256."""

from __future__ import annotations

import hashlib
import secrets
import threading
from functools import lru_cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerifyMismatchError
from argon2.profiles import RFC_9106_LOW_MEMORY

#: Argon2id with 64 MiB, three passes, four lanes: RFC 9106, section 4, second recommended option.
_HASHER = PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)
#: Secrets worked on at once; each takes 64 MiB, and a flood of wrong tries must not take all memory.
_AT_ONCE = threading.BoundedSemaphore(2)
#: Random bytes of a token. So many can't be guessed, so a fast hash is enough for the record.
TOKEN_BYTES = 32


def hash_secret(text: str) -> str:
    """The argon2id hash of a password or PIN, with its salt and costs in it."""
    with _AT_ONCE:
        return _HASHER.hash(text)


def secret_matches(text: str, stored: str | None) -> bool:
    """True if ``text`` is the secret behind ``stored``.

    With ``None`` (nobody of that name, or no such secret set) a hash of nothing known is worked
    through all the same, so that the time taken does not tell names from no names.
    """
    with _AT_ONCE:
        try:
            matches = _HASHER.verify(stored or _nobody(), text)
        except (VerifyMismatchError, InvalidHashError):
            return False
    return matches and stored is not None


@lru_cache(maxsize=1)
def _nobody() -> str:
    return _HASHER.hash(secrets.token_hex())


def new_token() -> str:
    """A fresh token for a cookie or a link; only its hash goes into the record."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def hash_of_token(token: str) -> str:
    """What the record keeps of a token."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
