"""Instants of a file: whole minutes in ISO 8601 with an offset."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any

from marshmallow import ValidationError

from scheduler.model.codec.fields import Required
from scheduler.model.codec.offences import shown

#: How an instant is spelled.
EXAMPLE = "2031-03-03T06:00:00+00:00"
_DAY = r"\d{4}-\d\d-\d\d"
_CLOCK = r"T\d\d:\d\d(:\d\d(\.\d+)?)?"
_INSTANT = re.compile(_DAY + _CLOCK + r"(Z|[+-]\d\d:\d\d)\Z", re.ASCII)
_NO_OFFSET = re.compile(_DAY + _CLOCK + r"\Z", re.ASCII)
_ONLY_A_DAY = re.compile(_DAY + r"\Z", re.ASCII)
_EARLIEST = datetime(1900, 1, 1, tzinfo=UTC)
_LATEST = datetime(3000, 1, 1, tzinfo=UTC)


class Instant(Required):
    """A whole minute in ISO 8601 with an offset."""

    noun = f"an instant such as {EXAMPLE}"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> datetime:
        if not isinstance(value, str):
            raise self.refusal(value)
        try:
            return instant(value)
        except ValueError as error:
            raise ValidationError(f"{shown(value)} {error}") from None

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return value.isoformat() if isinstance(value, datetime) else value


@lru_cache(maxsize=65536)
def instant(text: str) -> datetime:
    """The instant that a text stands for.

    Raises
    ------
    ValueError
        With the end of a sentence that begins with the text.
    """
    if _NO_OFFSET.match(text):
        raise ValueError("has no offset from UTC, such as +01:00")
    if _ONLY_A_DAY.match(text):
        raise ValueError(f"has no time of the day and no offset, as in {EXAMPLE}")
    if not _INSTANT.match(text):
        raise ValueError(f"is not {Instant.noun}")
    try:
        value = datetime.fromisoformat(text)
    except ValueError:
        raise ValueError("is no day of the calendar or time of the day") from None
    if value.second or value.microsecond:
        raise ValueError("is not on a whole minute")
    if not _EARLIEST <= value < _LATEST:
        raise ValueError("is outside the years 1900 to 2999")
    return value
