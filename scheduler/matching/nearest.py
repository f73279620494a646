"""Which printers come nearest to a job that nothing fits, and what is told of the others."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from scheduler.matching.answers import CHECKS
from scheduler.model import Printer, Reason

#: Up to so many printers, each gets its reasons.
TOLD_IN_FULL = 50
#: Above, so many of the nearest get theirs, the others are counted.
NEAREST_TOLD = 20


def check_names(bits: int) -> tuple[str, ...]:
    """Names of the checks whose bits are set, in the order of the checks."""
    return tuple(name for rank, name in enumerate(CHECKS) if bits >> rank & 1)


def nearest_first(printers: Sequence[Printer], failing: NDArray[np.int32]) -> list[int]:
    """Places of the printers by the number of distinct failing checks, ties by id."""
    return sorted(range(len(printers)), key=lambda p: (int(failing[p]).bit_count(), printers[p].id))


def verdict_reasons(
    printers: Sequence[Printer],
    failing: NDArray[np.int32],
    order: Sequence[int],
    reasons_at: Callable[[Printer], tuple[Reason, ...]],
) -> tuple[Reason, ...]:
    """The reasons of a job that nothing fits; see :class:`~scheduler.matching.answers.Verdict`.

    Parameters
    ----------
    failing : array of int
        Bits of failing checks for each printer.
    order : sequence of int
        Places of the printers, nearest first.
    """
    if len(printers) <= TOLD_IN_FULL:
        return tuple(reason for printer in printers for reason in reasons_at(printer))
    told = [reason for place in order[:NEAREST_TOLD] for reason in reasons_at(printers[place])]
    counts = Counter(int(failing[place]) for place in order[NEAREST_TOLD:])
    by_count = sorted(counts.items(), key=lambda item: (-item[1], check_names(item[0])))
    return (*told, *(_counted(check_names(bits), count) for bits, count in by_count))


def _counted(names: tuple[str, ...], count: int) -> Reason:
    joined = ", ".join(names)
    text = f"{count} more printer{'s fail' if count > 1 else ' fails'} in: {joined.replace('_', ' ')}"
    return Reason(joined, None, None, None, None, count, text)
