"""Which slot of the pools' head holds which field of `Problem` and `State`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from scheduler.planning.kernel.tables import SCRATCH_FIELDS, Problem, State

#: Slots at the head of the pool of whole numbers that belong to the journal, see `journal`.
JOURNAL_ON, JOURNAL_N, JOURNAL_AT, JOURNAL_CAP, JOURNAL_REALS, JOURNAL_REALS_AT, JOURNAL_FULL = range(7)
#: And those that tell where the state lies and where the best one is kept.
STATE_AT, STATE_N, KEPT_AT, REALS_AT, REALS_N, KEPT_REALS_AT = range(8, 14)
#: Places changed since the plan was last kept: where they are listed, how many (-1: more than the list
#: holds, or unknown), how many the list holds.
NOTED_AT, NOTED_N, NOTED_CAP = 7, 14, 15
FIRST_FIELD = 16


@dataclass(frozen=True)
class Field:
    """One field: its slot, whether it is an array, of reals, and whether its changes can be undone."""

    owner: str
    name: str
    slot: int
    array: bool
    real: bool
    logged: bool


@cache
def fields() -> dict[tuple[str, str], Field]:
    """Every field by owner (``"P"`` or ``"S"``) and name: the problem, the plan, the scratch."""
    shapes = [
        (owner, name, getattr(kind, "__forward_arg__", kind))
        for owner, table in (("P", Problem), ("S", State))
        for name, kind in table.__annotations__.items()
    ]
    known = [shape for shape in shapes if shape[2] in ("int", "float", "Ints", "Floats")]
    known.sort(key=lambda shape: shape[0] == "S" and shape[1] in SCRATCH_FIELDS)
    return {
        (owner, name): Field(
            owner,
            name,
            FIRST_FIELD + number,
            array=shape in ("Ints", "Floats"),
            real=shape in ("float", "Floats"),
            logged=owner == "S" and name not in SCRATCH_FIELDS,
        )
        for number, (owner, name, shape) in enumerate(known)
    }


def head_slots() -> int:
    """How many slots the pools' heads have."""
    return FIRST_FIELD + len(fields())
