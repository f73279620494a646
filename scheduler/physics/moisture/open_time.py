"""How long a dried spool may stand in a room before it is too wet to print."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.physics.moisture.air import Air
from scheduler.physics.moisture.coil import BARE, STILL, WOUND, Around, Coil, stage
from scheduler.physics.moisture.drying import REFERENCE_PCT
from scheduler.physics.moisture.polymer import Polymer
from scheduler.physics.moisture.strand import Strand
from scheduler.physics.nonsense import Nonsense

#: A dried spool begins at this share of the limit unless its run is known (estimate).
DRIED_SHARE = 0.5
#: Open times are told in steps of so many minutes, rounded down.
STEP_MIN = 5
#: However dry the air, an open time grows to no more than this multiple of the shop's own.
MOST = 2.0


@dataclass(frozen=True, slots=True)
class OpenTime:
    """Minutes until the limit; ``None`` where this air never makes the spool too wet.

    ``spool_min`` is the mean of the wound spool; ``strand_min`` a single strand, which is how the
    outermost winding fares.
    """

    spool_min: float | None
    strand_min: float | None


def open_time(
    polymer: Polymer, filament_mm: float, room: Air, limit_pct: float, from_pct: float | None = None
) -> OpenTime:
    """Minutes that a spool at ``from_pct`` (half the limit, if not given) stays under ``limit_pct``."""
    start = limit_pct * DRIED_SHARE if from_pct is None else from_pct
    if start >= limit_pct:
        raise Nonsense(
            f"a spool that begins at {start:g} % is not under the limit of {limit_pct:g} %; dry it first"
        )
    dry = Strand.even(filament_mm, start)
    spool, strand = (
        dry.minutes_until(limit_pct, stage(polymer, Around(room, coil, STILL), filament_mm, start))
        for coil in (WOUND, BARE)
    )
    return OpenTime(spool, strand)


def at_humidity(
    polymer: Polymer,
    filament_mm: float,
    stated_min: int,
    room_c: float,
    humidity_pct: float,
    limit_pct: float,
) -> int:
    """A shop's own open time, stated for :data:`REFERENCE_PCT`, at the day's humidity; whole minutes.

    The model gives only the ratio, so that its constants matter little; rounded down to
    :data:`STEP_MIN`, and never more than :data:`MOST` times the stated.
    """
    usual, today = (
        open_time(polymer, filament_mm, Air.of_room(room_c, pct), limit_pct).spool_min
        for pct in (REFERENCE_PCT, humidity_pct)
    )
    if usual is None or today is None:
        ratio = 1.0 if usual is None and today is None else (MOST if today is None else 1.0)
    else:
        ratio = min(MOST, today / usual)
    return int(stated_min * ratio / STEP_MIN + 1e-9) * STEP_MIN


def exposed(polymer: Polymer, spool: Strand, room: Air, minutes: float, coil: Coil = WOUND) -> Strand:
    """A spool after so long in a room's air."""
    conditions = stage(polymer, Around(room, coil, STILL), spool.radius_m * 2e3, spool.mean_pct)
    return spool.after(conditions, minutes)
