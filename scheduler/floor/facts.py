"""What a command leaves behind: facts, in words and figures, that are all the floor's memory."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from scheduler.floor.things import Kind


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that happened on the floor.

    Parameters
    ----------
    kind : str
        What, for example ``"job pulled"``; :data:`scheduler.floor.apply.KINDS` lists them all.
    subject : tuple of (str, str)
        What it happened to first, by kind and id.
    touches : tuple of (str, str)
        All things that it changes or that a person would look for it at.
    data : dict
        Its figures and words, as JSON carries them.
    """

    at: datetime
    kind: str
    who: str
    subject: tuple[Kind | str, str]
    touches: tuple[tuple[Kind | str, str], ...]
    data: dict[str, Any] = field(default_factory=dict)
