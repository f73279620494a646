"""A problem and a state as two pools of numbers, and the state back from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from scheduler.planning.compiled import layout
from scheduler.planning.kernel.tables import Problem, State

#: Entries of the journal: enough for a few hundred jobs taken out and put back.
JOURNAL_ENTRIES = 1 << 20
#: Places noted as changed since a plan was kept, of what the journal holds; with more all is kept anew.
NOTED_PART = 8


@dataclass
class Pool:
    """Two pools with every field at its place.

    Attributes
    ----------
    whole : array of int32
        Heads, arrays of whole numbers, the journal.
    real : array of float64
        Likewise for reals.
    spans : dict
        Place and length of every array in its pool.
    """

    whole: npt.NDArray[np.int32]
    real: npt.NDArray[np.float64]
    spans: dict[tuple[str, str], tuple[int, int]]
    state_whole: slice
    state_real: slice

    def state(self, like: State) -> State:
        """The state as plain lists; ``like`` gives what lies in no pool."""
        values: dict[str, Any] = dict(like._asdict())
        for (owner, name), (at, length) in self.spans.items():
            if owner == "S":
                pool = self.real if layout.fields()[owner, name].real else self.whole
                values[name] = pool[at : at + length].tolist()
        return State(**values)

    def copy(self) -> Pool:
        """An independent pool with the same contents."""
        return Pool(self.whole.copy(), self.real.copy(), self.spans, self.state_whole, self.state_real)

    def take_state(self, other: Pool) -> None:
        """Let the state be that of another pool of the same problem."""
        self.whole[self.state_whole] = other.whole[self.state_whole]
        self.real[self.state_real] = other.real[self.state_real]
        self.whole[layout.NOTED_N] = -1

    def write(self, name: str, values: Sequence[float]) -> None:
        """Fill the front of one of the state's arrays."""
        at, length = self.spans["S", name]
        if len(values) > length:
            raise ValueError(f"{name} holds {length} figures, {len(values)} given")
        pool = self.real if layout.fields()["S", name].real else self.whole
        pool[at : at + len(values)] = values

    def restore(self) -> None:
        """Go back to the plan that was kept."""
        whole, real = self.whole, self.real
        at, n, kept = (int(whole[k]) for k in (layout.STATE_AT, layout.STATE_N, layout.KEPT_AT))
        whole[at : at + n] = whole[kept : kept + n]
        at, n, kept = (int(whole[k]) for k in (layout.REALS_AT, layout.REALS_N, layout.KEPT_REALS_AT))
        real[at : at + n] = real[kept : kept + n]
        whole[layout.NOTED_N] = 0

    def lists(self) -> tuple[list[int], list[float]]:
        """Both pools as lists, for the plain kernels."""
        return self.whole.tolist(), self.real.tolist()


def pool_of(problem: Problem, state: State, journal_entries: int = JOURNAL_ENTRIES) -> Pool:
    """Lay a problem and a state out."""
    head = layout.head_slots()
    spans: dict[tuple[str, str], tuple[int, int]] = {}
    sizes = {False: head, True: head}
    values: dict[tuple[str, str], Any] = {}
    state_from: dict[bool, int] = {}
    state_to = dict(sizes)
    for (owner, name), field in layout.fields().items():
        value = getattr(problem if owner == "P" else state, name)
        values[owner, name] = value
        if field.logged:
            state_from.setdefault(False, sizes[False])
            state_from.setdefault(True, sizes[True])
        if field.array:
            spans[owner, name] = (sizes[field.real], len(value))
            sizes[field.real] += len(value)
        if field.logged:
            state_to = dict(sizes)
    span = state_to[False] - state_from[False]
    span_real = state_to[True] - state_from[True]
    noted = journal_entries // NOTED_PART
    whole = np.zeros(sizes[False] + span + journal_entries + noted, dtype=np.int32)
    real = np.zeros(sizes[True] + span_real + journal_entries // 2, dtype=np.float64)
    for key, field in layout.fields().items():
        pool = real if field.real else whole
        if not field.array:
            pool[field.slot] = values[key]
            continue
        at, length = spans[key]
        whole[field.slot] = at
        if length:
            pool[at : at + length] = values[key]
    whole[layout.STATE_AT] = state_from[False]
    whole[layout.STATE_N] = span
    whole[layout.KEPT_AT] = sizes[False]
    whole[layout.REALS_AT] = state_from[True]
    whole[layout.REALS_N] = span_real
    whole[layout.KEPT_REALS_AT] = sizes[True]
    whole[layout.JOURNAL_AT] = sizes[False] + span
    whole[layout.JOURNAL_CAP] = journal_entries
    whole[layout.NOTED_AT] = sizes[False] + span + journal_entries
    whole[layout.NOTED_N] = -1
    whole[layout.NOTED_CAP] = noted
    whole[layout.JOURNAL_REALS_AT] = sizes[True] + span_real
    return Pool(
        whole,
        real,
        spans,
        slice(state_from[False], state_to[False]),
        slice(state_from[True], state_to[True]),
    )
