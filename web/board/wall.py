"""What the wall shows, to be read at five metres: the clock, the next hands, each machine's now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from web.board.rows import STEP_WORDS, Group, Row

#: Steps during which a machine wants somebody.
WANTS_HANDS = frozenset(("changeover", "start", "unload"))


@dataclass(frozen=True, slots=True)
class Tile:
    """One machine: what the plan has it doing now, until when, and whether somebody is wanted."""

    machine: str
    doing: str
    label: str
    until: datetime | None
    wanted: bool
    late: bool


def tile(row: Row, now: datetime) -> Tile:
    """The state of one machine by the plan; the plan knows nothing of what really happens."""
    for stop in row.downtime:
        if stop.start <= now < stop.end:
            return Tile(row.id, "Out of use", "", stop.end, False, False)
    for block in row.blocks:
        if block.start <= now < block.end:
            late = block.late_min > 0
            for bar in block.bars:
                if bar.start <= now < bar.end:
                    wanted = bar.kind in WANTS_HANDS
                    return Tile(row.id, STEP_WORDS[bar.kind], block.label, bar.end, wanted, late)
            following = min((bar.start for bar in block.bars if bar.start > now), default=block.end)
            return Tile(row.id, "Waits", block.label, following, False, late)
    begins = min((block.start for block in row.blocks if block.start > now), default=None)
    return Tile(row.id, "Free", "", begins, False, False)


def tiles(groups: tuple[Group, ...], now: datetime) -> tuple[Tile, ...]:
    """Every machine of the groups, in their order."""
    return tuple(tile(row, now) for group in groups for row in group.rows)
