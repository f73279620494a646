"""Measured air, dryers and chambers within one unit of work."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any, cast

import numpy as np
from sqlalchemy import Connection, delete, func, insert, select

from scheduler.physics.climate import HOURS, Reading
from scheduler.physics.derive import MaterialLimits
from scheduler.physics.fitting import Estimate, Fit, Kind
from scheduler.physics.moisture.drying import REFERENCE_PCT, DryerAir
from scheduler.physics.moisture.polymers import known_polymer
from scheduler.physics.moisture.weighing import Weighing
from scheduler.store.rows.batch import table
from scheduler.store.tables import (
    Base,
    ChamberLogRow,
    DryerAirRow,
    HumidCheckRow,
    MaterialLimitRow,
    RoomAirRow,
    RoomReadingRow,
    WeighingRow,
)

#: Readings kept of a sensor: two years of one a quarter of an hour are this many.
MOST_READINGS = 70_000


@dataclass(frozen=True, slots=True)
class RoomAir:
    """The shop's humidity and whether plans use the model.

    Parameters
    ----------
    by_hour_pct : tuple of 24 floats
        Relative humidity of each hour of the local day, %.
    plan_with_model : bool
        True if plans are made with derived rows, first runs and open times.
    longer_open : bool
        True if dry air may lengthen an open time.
    """

    by_hour_pct: tuple[float, ...] = (REFERENCE_PCT,) * HOURS
    plan_with_model: bool = False
    longer_open: bool = False


@dataclass(frozen=True, slots=True)
class KnownDryer:
    """A dryer's air, and the interval of its coil factor where it was weighed."""

    air: DryerAir = field(default_factory=DryerAir)
    factor: Estimate | None = None


@dataclass(frozen=True, slots=True)
class RecordedWeighing:
    """A weighing with when, where, what and by whom."""

    at: datetime
    dryer: str
    spool: str
    polymer: str
    weighing: Weighing
    who: str
    number: int | None = None


@dataclass(frozen=True, slots=True)
class RecordedFit:
    """A fitted log of a printer's chamber, with the day that it was taken on."""

    at: datetime
    printer: str
    taken_on: date
    fit: Fit
    who: str
    number: int | None = None


@dataclass(frozen=True, slots=True)
class HumidCheck:
    """What a look at a humid week found for one plan.

    Parameters
    ----------
    today_pct, humid_pct : float
        The humidity to plan with at that time, and the humid one, %.
    late_today : tuple of str
        Jobs that today's humidity makes late, on time as the plan has them.
    late_humid : tuple of str
        Jobs that the humid air makes late, on time in today's.
    """

    at: datetime
    plan_number: int
    today_pct: float
    humid_pct: float
    late_today: tuple[str, ...]
    late_humid: tuple[str, ...]
    who: str
    number: int | None = None


class Water:
    """The rows of air, weighings and logs."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def room_air(self) -> RoomAir:
        """The shop's air; that of the recipes' reference while nobody has said."""
        row = self._connection.execute(select(table(RoomAirRow))).one_or_none()
        if row is None:
            return RoomAir()
        return RoomAir(tuple(float(each) for each in row.by_hour_pct), row.plan_with_model, row.longer_open)

    def save_room_air(self, air: RoomAir) -> None:
        """Record the shop's air."""
        self._replace(
            RoomAirRow,
            {"id": 1},
            by_hour_pct=list(air.by_hour_pct),
            plan_with_model=air.plan_with_model,
            longer_open=air.longer_open,
        )

    def add_readings(self, readings: Iterable[Reading]) -> int:
        """Record a sensor's readings, instead of others at the same instants; how many."""
        target = table(RoomReadingRow)
        rows = {
            # In one offset, so that an instant is one row however a sensor spells it.
            reading.at.astimezone(UTC): {
                "at": reading.at.astimezone(UTC),
                "humidity_pct": reading.humidity_pct,
                "temp_c": reading.temp_c,
            }
            for reading in readings
        }
        for at in rows:
            self._connection.execute(delete(target).where(target.c.at == at))
        if rows:
            self._connection.execute(insert(target), list(rows.values()))
        return len(rows)

    def readings(self, limit: int = 2000) -> tuple[Reading, ...]:
        """The newest readings, in time order."""
        target = table(RoomReadingRow)
        newest = select(target).order_by(target.c.at.desc()).limit(min(limit, MOST_READINGS))
        rows = self._connection.execute(newest).all()
        return tuple(Reading(row.at, row.humidity_pct, row.temp_c) for row in reversed(rows))

    def dryers(self) -> dict[str, KnownDryer]:
        """What is known of dryers' air, by dryer."""
        found = {}
        for row in self._connection.execute(select(table(DryerAirRow))):
            air = DryerAir(row.dew_point_c, row.pressure_pa, row.sherwood, row.coil_factor)
            known = row.coil_low is not None and row.coil_high is not None
            factor = Estimate(row.coil_factor, row.coil_low, row.coil_high) if known else None
            found[row.dryer] = KnownDryer(air, factor)
        return found

    def save_dryer(self, dryer: str, known: KnownDryer) -> None:
        """Record what is known of a dryer's air."""
        self._replace(
            DryerAirRow,
            {"dryer": dryer},
            dew_point_c=known.air.dew_point_c,
            pressure_pa=known.air.pressure_pa,
            sherwood=known.air.sherwood,
            coil_factor=known.air.coil_factor,
            coil_low=None if known.factor is None else known.factor.low,
            coil_high=None if known.factor is None else known.factor.high,
        )

    def limits(self) -> dict[str, MaterialLimits]:
        """A shop's own limits by material."""
        rows = self._connection.execute(select(table(MaterialLimitRow)))
        return {
            row.material: MaterialLimits(
                row.limit_pct, row.floor_h, row.thickest_mm, row.apart_k, row.plate_mm
            )
            for row in rows
        }

    def save_limits(self, material: str, limits: MaterialLimits) -> None:
        """Record a material's own limits."""
        self._replace(
            MaterialLimitRow,
            {"material": material},
            limit_pct=limits.limit_pct,
            floor_h=limits.floor_h,
            thickest_mm=limits.thickest_mm,
            apart_k=limits.apart_k,
            plate_mm=limits.plate_mm,
        )

    def add_weighing(self, recorded: RecordedWeighing) -> int:
        """Record a weighing; its number."""
        weighing, number = recorded.weighing, self._next(WeighingRow)
        self._connection.execute(
            insert(table(WeighingRow)).values(
                number=number,
                at=recorded.at,
                dryer=recorded.dryer,
                spool=recorded.spool,
                polymer=recorded.polymer,
                filament_mm=weighing.filament_mm,
                before_g=weighing.before_g,
                after_g=weighing.after_g,
                body_g=weighing.body_g,
                temp_c=weighing.temp_c,
                hours=weighing.hours,
                vacuum=weighing.vacuum,
                stored_pct=weighing.stored_pct,
                who=recorded.who,
            )
        )
        return number

    def weighings(self, dryer: str) -> tuple[RecordedWeighing, ...]:
        """A dryer's weighings in their order."""
        target = table(WeighingRow)
        rows = self._connection.execute(
            select(target).where(target.c.dryer == dryer).order_by(target.c.number)
        )
        return tuple(
            RecordedWeighing(
                row.at,
                row.dryer,
                row.spool,
                row.polymer,
                Weighing(
                    known_polymer(row.polymer),
                    row.filament_mm,
                    row.before_g,
                    row.after_g,
                    row.body_g,
                    row.temp_c,
                    row.hours,
                    row.vacuum,
                    row.stored_pct,
                ),
                row.who,
                row.number,
            )
            for row in rows
        )

    def add_log(self, recorded: RecordedFit) -> int:
        """Record a fitted log; its number."""
        fit, number = recorded.fit, self._next(ChamberLogRow)
        readings = [
            [round(minute, 3), round(temp, 2)]
            for minute, temp in zip(fit.minutes.tolist(), fit.temps_c.tolist(), strict=True)
        ]
        self._connection.execute(
            insert(table(ChamberLogRow)).values(
                number=number,
                at=recorded.at,
                printer=recorded.printer,
                taken_on=recorded.taken_on,
                kind=fit.kind,
                tau_min=fit.tau_min.value,
                tau_low=fit.tau_min.low,
                tau_high=fit.tau_min.high,
                end_c=fit.end_c.value,
                end_low=fit.end_c.low,
                end_high=fit.end_c.high,
                start_c=fit.start_c,
                deviation_k=fit.deviation_k,
                readings=readings,
                warnings=list(fit.warnings),
                who=recorded.who,
            )
        )
        return number

    def logs(self, printer: str) -> tuple[RecordedFit, ...]:
        """A printer's fitted logs by the day that they were taken on."""
        target = table(ChamberLogRow)
        wanted = (
            select(target).where(target.c.printer == printer).order_by(target.c.taken_on, target.c.number)
        )
        return tuple(
            RecordedFit(
                row.at,
                row.printer,
                row.taken_on,
                Fit(
                    cast("Kind", row.kind),
                    Estimate(row.tau_min, row.tau_low, row.tau_high),
                    Estimate(row.end_c, row.end_low, row.end_high),
                    row.start_c,
                    np.asarray([minute for minute, _ in row.readings], dtype=float),
                    np.asarray([temp for _, temp in row.readings], dtype=float),
                    row.deviation_k,
                    tuple(row.warnings),
                ),
                row.who,
                row.number,
            )
            for row in self._connection.execute(wanted)
        )

    def add_humid_check(self, found: HumidCheck) -> int:
        """Record what a look at a humid week found; its number."""
        number = self._next(HumidCheckRow)
        self._connection.execute(
            insert(table(HumidCheckRow)).values(
                number=number,
                at=found.at,
                plan_number=found.plan_number,
                today_pct=found.today_pct,
                humid_pct=found.humid_pct,
                late_today=list(found.late_today),
                late_humid=list(found.late_humid),
                who=found.who,
            )
        )
        return number

    def humid_check(self) -> HumidCheck | None:
        """The newest look at a humid week."""
        target = table(HumidCheckRow)
        newest = select(target).order_by(target.c.number.desc()).limit(1)
        row = self._connection.execute(newest).one_or_none()
        if row is None:
            return None
        return HumidCheck(
            row.at,
            row.plan_number,
            row.today_pct,
            row.humid_pct,
            tuple(row.late_today),
            tuple(row.late_humid),
            row.who,
            row.number,
        )

    def _next(self, row: type[Base]) -> int:
        highest: int = self._connection.execute(select(func.max(table(row).c.number))).scalar_one() or 0
        return highest + 1

    def _replace(self, row: type[Base], key: dict[str, Any], **values: Any) -> None:
        target = table(row)
        same = [target.c[name] == value for name, value in key.items()]
        self._connection.execute(delete(target).where(*same))
        self._connection.execute(insert(target).values(**key, **values))
