"""Local times as people write them, made into instants."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timezone
from zoneinfo import ZoneInfo

#: What a message shows as an example.
EXAMPLE = "2031-03-05 16:00"

_SPELLED = re.compile(r"(\d{4}-\d\d-\d\d)[ T](\d\d?:\d\d)(?: ?(Z|[+-]\d\d:\d\d))?\Z", re.ASCII)
_DAY = re.compile(r"\d{4}-\d\d-\d\d\Z", re.ASCII)


def spelled_time(text: str) -> datetime:
    """A day and a time as written: aware if an offset from UTC is written too, else naive.

    Raises
    ------
    ValueError
        With the end of a sentence that begins with the text.
    """
    found = _SPELLED.match(text)
    if found is None:
        if _DAY.match(text):
            raise ValueError(f"has no time of the day; write it like {EXAMPLE}")
        raise ValueError(f"is not a day and a time; write it like {EXAMPLE}")
    day, time, offset = found.groups(default="")
    try:
        return datetime.fromisoformat(f"{day}T{time.zfill(5)}{offset}")
    except ValueError:
        raise ValueError("is no day of the calendar or time of the day") from None


def instant_of(written: datetime, zone: ZoneInfo) -> datetime:
    """The instant of a local time; an aware one is taken as it is.

    Raises
    ------
    ValueError
        If clocks change then, so that the time does not exist or comes twice.
    """
    if written.tzinfo is not None:
        return written
    first, second = (written.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    offset, other = first.utcoffset(), second.utcoffset()
    assert offset is not None and other is not None
    exact = first.replace(tzinfo=timezone(offset))
    if offset == other:
        return exact
    if first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != written:
        raise ValueError(f"does not exist in {zone.key}: clocks are put forward over it")
    again = second.replace(tzinfo=timezone(other))
    raise ValueError(
        f"comes twice in {zone.key}, as clocks are put back: add the offset,"
        f" {exact.isoformat()[-6:]} for the first or {again.isoformat()[-6:]} for the second"
    )
