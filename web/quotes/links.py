"""Signed links by which a customer sees the progress of one quote and nothing else."""

from __future__ import annotations

from datetime import datetime, timedelta

from itsdangerous import BadSignature, URLSafeSerializer

#: How long a link is good for.
GOOD_FOR = timedelta(days=60)
SALT = "soakline customer link"


class BadLink(Exception):
    """A link that was never given, was changed, or has ended."""


def token_of(secret: str, number: int, serial: int, now: datetime) -> str:
    """The signed part of a link, good for `GOOD_FOR` from now."""
    ends = int((now + GOOD_FOR).timestamp())
    signed = URLSafeSerializer(secret, salt=SALT).dumps([number, serial, ends])
    return signed if isinstance(signed, str) else signed.decode()


def read_token(secret: str, token: str, now: datetime) -> tuple[int, int]:
    """Number and serial of a link; `BadLink` if it does not hold (any more)."""
    try:
        number, serial, ends = URLSafeSerializer(secret, salt=SALT).loads(token)
    except (BadSignature, ValueError, TypeError):
        raise BadLink from None
    if now.timestamp() > ends:
        raise BadLink
    return int(number), int(serial)
