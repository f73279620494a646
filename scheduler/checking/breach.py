"""One broken rule, told in a sentence."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Breach:
    """A place where a plan breaks a rule of the contract.

    Parameters
    ----------
    rule : str
        Name of the rule, for example ``"hands"`` or ``"dryness"``.
    who : str
        The job, machine, run or spool that breaks it.
    text : str
        What is there and what the rule asks for, both with figures.
    jobs : tuple of str
        Ids of the jobs whose steps break it; a begun job may be excused from it (``forced``).
    """

    rule: str
    who: str
    text: str
    jobs: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.rule}: {self.who}: {self.text}"
