"""Rows of a CSV file that somebody's instrument wrote, with one message for a file that is none."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator
from datetime import UTC, datetime, tzinfo

from scheduler.physics.nonsense import Nonsense

#: Wrong lines that one message names.
TOLD = 20


class Rows:
    """The headings of a CSV file and its rows.

    Parameters
    ----------
    name : str
        Of the file, for messages.

    Raises
    ------
    Nonsense
        If the text is no CSV.
    """

    def __init__(self, text: str, name: str) -> None:
        self._name = name
        self._reader = csv.DictReader(io.StringIO(text.lstrip("\ufeff")))
        try:
            self.heads = [(head or "").strip() for head in self._reader.fieldnames or ()]
        except csv.Error as error:
            raise self._none(error) from None

    def __iter__(self) -> Iterator[tuple[int, dict[str, str]]]:
        """Each line's number in the file and its cells by heading."""
        try:
            for row in self._reader:
                yield (
                    self._reader.line_num,
                    {
                        key.strip(): value.strip()
                        for key, value in row.items()
                        if isinstance(key, str) and isinstance(value, str)
                    },
                )
        except csv.Error as error:
            raise self._none(error) from None

    def _none(self, error: csv.Error) -> Nonsense:
        return Nonsense(f"{self._name}, line {self._reader.line_num + 1}: no CSV can be read here ({error})")


def figure(head: str, cells: dict[str, str]) -> float:
    """The finite number under a heading; :class:`Nonsense` where there is none."""
    text = cells.get(head, "")
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise Nonsense(f"{head} is {text!r}, which is no number")
    return value


def instant(head: str, cells: dict[str, str], zone: tzinfo) -> datetime:
    """The instant under a heading; one without an offset is the shop's own time."""
    text = cells.get(head, "")
    try:
        at = datetime.fromisoformat(text)
        at = at if at.tzinfo else at.replace(tzinfo=zone)
        # Instants are kept in UTC: those at the calendar's very ends have none.
        at.astimezone(UTC)
    except (ValueError, OverflowError):
        raise Nonsense(f"{head} is {text!r}, which is no time such as 2031-03-03T06:00") from None
    return at


def refuse(wrong: list[str]) -> None:
    """Raise :class:`Nonsense` with the first wrong lines, if there are any."""
    if wrong:
        more = [f"and {len(wrong) - TOLD} more"] if len(wrong) > TOLD else []
        raise Nonsense("\n".join(wrong[:TOLD] + more))
