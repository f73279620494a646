"""A shop's humidity and room temperature: fixed, by the hour of the day, or from a sensor's log."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from scheduler.physics.csv_rows import Rows, figure, instant, refuse
from scheduler.physics.moisture.air import Air
from scheduler.physics.nonsense import Nonsense, within

HOURS = 24


@dataclass(frozen=True, slots=True)
class Reading:
    """What a sensor said at an instant: relative humidity, %, and °C where it measures that too."""

    at: datetime
    humidity_pct: float
    temp_c: float | None


@dataclass(frozen=True, slots=True)
class Climate:
    """The room's air through time.

    Parameters
    ----------
    by_hour_pct : tuple of 24 floats
        Relative humidity for each hour of the local day, %.
    temp_c : float
        Room temperature, °C.
    readings : tuple of Reading
        In time order; where they are no older than ``stale``, they come before ``by_hour_pct``.
    stale : timedelta
        How long a reading is believed.
    """

    by_hour_pct: tuple[float, ...]
    temp_c: float
    readings: tuple[Reading, ...] = ()
    stale: timedelta = timedelta(hours=3)

    def __post_init__(self) -> None:
        if len(self.by_hour_pct) != HOURS:
            raise Nonsense(f"a day has 24 hours, not {len(self.by_hour_pct)} humidities")
        for hour, humidity in enumerate(self.by_hour_pct):
            within(f"the relative humidity at {hour} h", humidity, 0, 100, "%")
        within("the room's temperature", self.temp_c, -20, 60, "°C")

    @classmethod
    def fixed(cls, humidity_pct: float, temp_c: float) -> Climate:
        """The same humidity day and night."""
        within("the relative humidity", humidity_pct, 0, 100, "%")
        return cls((humidity_pct,) * HOURS, temp_c)

    def humidity_pct(self, at: datetime, zone: tzinfo) -> float:
        """Relative humidity at an instant, %."""
        reading = self._reading(at)
        return self.by_hour_pct[at.astimezone(zone).hour] if reading is None else reading.humidity_pct

    def air(self, at: datetime, zone: tzinfo) -> Air:
        """The room's air at an instant."""
        reading = self._reading(at)
        temp_c = self.temp_c if reading is None or reading.temp_c is None else reading.temp_c
        return Air.of_room(temp_c, self.humidity_pct(at, zone))

    def mean_pct(self) -> float:
        """Mean over a day, %."""
        return sum(self.by_hour_pct) / HOURS

    def _reading(self, at: datetime) -> Reading | None:
        place = bisect_right(self.readings, at, key=lambda reading: reading.at)
        if place and at - self.readings[place - 1].at <= self.stale:
            return self.readings[place - 1]
        return None


def read_sensor(text: str, zone: tzinfo, name: str = "the sensor's log") -> tuple[Reading, ...]:
    """Readings from a CSV file with the headings ``time``, ``humidity_pct`` and, if it has it, ``temp_c``.

    Times are ISO 8601; one without an offset is the shop's own time.

    Raises
    ------
    Nonsense
        With every line that can't be read.
    """
    rows = Rows(text, name)
    missing = {"time", "humidity_pct"} - set(rows.heads)
    if missing:
        raise Nonsense(f"{name}: no column {' and no column '.join(sorted(missing))}")
    readings, wrong = [], []
    for line, cells in rows:
        try:
            readings.append(_reading(cells, zone))
        except Nonsense as error:
            wrong.append(f"{name}, line {line}: {error}")
    refuse(wrong)
    if not readings:
        raise Nonsense(f"{name}: there is no reading in it")
    return tuple(sorted(readings, key=lambda reading: reading.at))


def _reading(cells: dict[str, str], zone: tzinfo) -> Reading:
    at = instant("time", cells, zone)
    humidity = within("the relative humidity", figure("humidity_pct", cells), 0, 100, "%")
    temp_c = figure("temp_c", cells) if cells.get("temp_c") else None
    if temp_c is not None:
        within("the room's temperature", temp_c, -20, 60, "°C")
    return Reading(at, humidity, temp_c)
