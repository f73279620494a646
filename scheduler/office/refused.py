"""The answer to a change that can't be made."""

from __future__ import annotations

from collections.abc import Iterable

from scheduler.model.codec import Offence
from scheduler.model.errors import SoaklineError


class Refused(SoaklineError):
    """A change that was not made; nothing of it was stored.

    Parameters
    ----------
    message : str
        Why, in words; if empty, the offences' lines.
    offences : iterable of Offence
        Everything that is wrong with the shop as it would be.
    """

    def __init__(self, message: str = "", offences: Iterable[Offence] = ()) -> None:
        self.offences: tuple[Offence, ...] = tuple(offences)
        super().__init__(message or "\n".join(str(offence) for offence in self.offences))
