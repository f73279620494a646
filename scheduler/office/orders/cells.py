"""What one cell of an order sheet may say.

Each reader raises ``ValueError`` with the end of a sentence that begins with the cell.
"""

from __future__ import annotations

import re

#: No figure of an order is larger.
LARGEST = 1e9
LONGEST_TEXT = 500

_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?\Z", re.ASCII)
_HOURS = re.compile(r"(\d{1,6}):([0-5]\d)\Z", re.ASCII)
_YES = {"yes", "y", "true", "1", "x"}
_NO = {"no", "n", "false", "0"}


def words(text: str) -> str:
    """Words of a reasonable length."""
    if len(text) > LONGEST_TEXT:
        raise ValueError(f"has {len(text)} characters, more than {LONGEST_TEXT}")
    if not text.isprintable():
        raise ValueError("holds characters that can't be printed, such as a line break")
    return text


def number(text: str) -> float:
    """A figure from 0 up, with a decimal point or comma."""
    if not _NUMBER.match(text):
        raise ValueError("is not a number")
    _, comma, decimals = text.partition(",")
    if comma and len(decimals) == 3:
        raise ValueError("could mean thousands or decimals; write it without a comma")
    value = float(text.replace(",", "."))
    if value < 0:
        raise ValueError("is negative")
    if value > LARGEST:
        raise ValueError(f"is too large (at most {LARGEST:.0f})")
    return value


def positive(text: str) -> float:
    """A figure above 0."""
    value = number(text)
    if value == 0:
        raise ValueError("is not above 0")
    return value


def count(text: str) -> int:
    """A whole number from 1 up."""
    value = positive(text)
    if value != int(value):
        raise ValueError("is not a whole number")
    return int(value)


def minutes(text: str) -> int:
    """A duration as hours and minutes (``3:30``) or as whole minutes (``210``)."""
    found = _HOURS.match(text)
    if found:
        return int(found[1]) * 60 + int(found[2])
    if not _NUMBER.match(text):
        raise ValueError("is not a time such as 3:30 (hours and minutes) or 210 (minutes)")
    value = number(text)
    if value != int(value):
        raise ValueError("is not a whole number of minutes; write hours and minutes, such as 3:30")
    return int(value)


def yes_or_no(text: str) -> bool:
    """yes or no."""
    folded = text.casefold()
    if folded in _YES:
        return True
    if folded in _NO:
        return False
    raise ValueError("is neither yes nor no")


def tags(text: str) -> tuple[str, ...]:
    """Words with semicolons between them."""
    parts = tuple(words(part.strip()) for part in text.split(";") if part.strip())
    for place, part in enumerate(parts):
        if part in parts[:place]:
            raise ValueError(f"names {part} twice")
    return parts


def bores(text: str) -> tuple[float, ...]:
    """Nozzle sizes in mm with semicolons between them."""
    return tuple(positive(part.strip()) for part in text.split(";") if part.strip())
