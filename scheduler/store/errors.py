"""What can go wrong with the record, in words for the person in front of it."""

from __future__ import annotations

from scheduler.model.errors import SoaklineError


class RecordError(SoaklineError):
    """The record can't be used as asked."""


class RecordUnreachable(RecordError):
    """The database does not answer, is not there, or its address is wrong."""


class RecordBusy(RecordError):
    """Another process kept the record for too long."""


class RecordRefused(RecordError):
    """The database itself refused a change, of which nothing was stored."""


class NoShop(RecordError):
    """Nothing is recorded yet."""

    def __init__(self) -> None:
        super().__init__("no shop is recorded yet; `soakline import SCENARIO` records one")


class StaleVersion(RecordError):
    """The shop was changed since the version that a change was based on."""

    def __init__(self, seen: int, now: int) -> None:
        super().__init__(
            f"somebody changed the shop meanwhile (you saw version {seen}, it is now {now});"
            " nothing was stored, look again and repeat your change"
        )
        self.seen = seen
        self.now = now
