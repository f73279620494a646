"""A chamber's log: times and temperatures from a CSV file, and its heating and cooling parts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo

import numpy as np
from numpy.typing import NDArray

from scheduler.physics.csv_rows import Rows, figure, instant, refuse
from scheduler.physics.nonsense import ABSOLUTE_ZERO_C, Nonsense

Floats = NDArray[np.float64]
TIMES = ("minutes", "seconds", "time")
HOTTEST_C = 600.0
#: The controller holds once the chamber is so near the setpoint, K, or so near the hottest reading.
HELD_K = 2.0


@dataclass(frozen=True, slots=True)
class ChamberLog:
    """Minutes from the first reading, °C, and the setpoint where the log has it."""

    minutes: Floats
    temps_c: Floats
    setpoints_c: Floats | None
    began: datetime | None


def read_log(text: str, name: str = "the log", zone: tzinfo = UTC) -> ChamberLog:
    """A log from CSV: ``minutes``, ``seconds`` or ``time`` (ISO 8601), ``temp_c``, perhaps ``setpoint_c``.

    A time without an offset is one of ``zone``.

    Raises
    ------
    Nonsense
        With every line that can't be read, or that says what no chamber can be.
    """
    rows = Rows(text, name)
    heads = rows.heads
    clock = next((head for head in TIMES if head in heads), None)
    if clock is None or "temp_c" not in heads:
        raise Nonsense(
            f"{name}: needs the columns temp_c and one of {', '.join(TIMES)};"
            f" it has {', '.join(heads) or 'none'}"
        )
    times, temps, setpoints, wrong = [], [], [], []
    for line, cells in rows:
        try:
            times.append(_seconds(clock, cells, zone))
            temps.append(_celsius("temp_c", cells))
            setpoints.append(_celsius("setpoint_c", cells) if cells.get("setpoint_c") else math.nan)
        except Nonsense as error:
            wrong.append(f"{name}, line {line}: {error}")
    refuse(wrong)
    if len(times) < 2:
        raise Nonsense(f"{name}: {len(times)} readings are no log")
    seconds = np.asarray(times)
    back = np.flatnonzero(np.diff(seconds) <= 0)
    if len(back):
        raise Nonsense(f"{name}, line {int(back[0]) + 3}: the time does not go forward")
    known = "setpoint_c" in heads and not np.isnan(setpoints).any()
    began = datetime.fromtimestamp(times[0], zone) if clock == "time" else None
    return ChamberLog(
        (seconds - seconds[0]) / 60, np.asarray(temps), np.asarray(setpoints) if known else None, began
    )


def heating_part(log: ChamberLog) -> tuple[Floats, Floats]:
    """The stretch at full power: from the coldest reading before the rise until the setpoint is near."""
    peak = int(np.argmax(log.temps_c))
    start = int(np.argmin(log.temps_c[: peak + 1]))
    target = log.temps_c[peak] if log.setpoints_c is None else float(log.setpoints_c[start:].max())
    near = np.flatnonzero(log.temps_c[start:] >= target - HELD_K)
    end = start + int(near[0]) + 1 if len(near) else peak + 1
    return log.minutes[start:end], log.temps_c[start:end]


def cooling_part(log: ChamberLog) -> tuple[Floats, Floats]:
    """The last fall: from the last reading near the hottest to the end."""
    near = np.flatnonzero(log.temps_c >= log.temps_c.max() - HELD_K)
    start = int(near[-1])
    return log.minutes[start:], log.temps_c[start:]


def _seconds(clock: str, cells: dict[str, str], zone: tzinfo) -> float:
    if clock == "time":
        return instant(clock, cells, zone).astimezone(UTC).timestamp()
    return figure(clock, cells) * (60 if clock == "minutes" else 1)


def _celsius(head: str, cells: dict[str, str]) -> float:
    value = figure(head, cells)
    if not ABSOLUTE_ZERO_C < value <= HOTTEST_C:
        raise Nonsense(f"{value:g} °C is no chamber's temperature")
    return value
