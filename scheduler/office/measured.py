"""What people measure: the room's humidity, a dryer's air, weighings, a chamber's log."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduler.model import Printer, Scenario
from scheduler.office.clock import Clock
from scheduler.office.refused import Refused
from scheduler.office.shop import OFFICE
from scheduler.physics.climate import Climate, read_sensor
from scheduler.physics.derive import MaterialLimits, Surroundings
from scheduler.physics.fitting import Fit, Kind, fit_cooling, fit_heating
from scheduler.physics.logs import cooling_part, heating_part, read_log
from scheduler.physics.moisture.air import Air
from scheduler.physics.moisture.drying import DryerAir
from scheduler.physics.moisture.polymers import polymer_of
from scheduler.physics.moisture.weighing import Calibration, Weighing, calibrate
from scheduler.physics.reach import Reach, Trend, trend
from scheduler.store import Event, KnownDryer, Record, RecordedFit, RecordedWeighing, RoomAir, Unit

#: Sensor readings of so long make the humidity that plans are made with.
LOOK_BACK = timedelta(hours=24)


def record_room_air(record: Record, clock: Clock, air: RoomAir, who: str = OFFICE) -> None:
    """Record the shop's humidity by the hour, and whether plans use the model.

    Raises
    ------
    Nonsense
        For a humidity that no room has.
    """
    Climate(air.by_hour_pct, 22.0)
    with record.writing() as unit:
        unit.water.save_room_air(air)
        figures = {"by_hour_pct": list(air.by_hour_pct), "plan_with_model": air.plan_with_model}
        unit.events.append(Event(clock(), "room air recorded", who, "shop", "room", figures))


def record_readings(record: Record, clock: Clock, text: str, name: str, who: str = OFFICE) -> int:
    """Record a humidity sensor's CSV; how many readings, all of them or none."""
    with record.writing() as unit:
        zone = ZoneInfo(unit.fleet.load().site.timezone)
        readings = read_sensor(text, zone, name)
        count = unit.water.add_readings(readings)
        unit.events.append(Event(clock(), "humidity read", who, "shop", "room", {"readings": count}))
    return count


def record_dryer_air(record: Record, clock: Clock, dryer: str, air: DryerAir, who: str = OFFICE) -> None:
    """Record what is known of a dryer's air; its weighed coil factor stays."""
    with record.writing() as unit:
        _known(dryer, "dryer", {each.id for each in unit.fleet.load().dryers})
        before = unit.water.dryers().get(dryer, KnownDryer())
        kept = replace(air, coil_factor=before.air.coil_factor)
        unit.water.save_dryer(dryer, KnownDryer(kept, before.factor))
        figures = {"dew_point_c": air.dew_point_c, "pressure_pa": air.pressure_pa}
        unit.events.append(Event(clock(), "dryer air recorded", who, "dryer", dryer, figures))


def record_limits(
    record: Record, clock: Clock, material: str, limits: MaterialLimits, who: str = OFFICE
) -> None:
    """Record a material's own limit of moisture and shortest run."""
    with record.writing() as unit:
        _known(material, "material", {each.id for each in unit.fleet.load().materials})
        unit.water.save_limits(material, limits)
        figures = {
            "limit_pct": limits.limit_pct,
            "floor_h": limits.floor_h,
            "thickest_mm": limits.thickest_mm,
            "plate_mm": limits.plate_mm,
        }
        unit.events.append(Event(clock(), "moisture limit recorded", who, "material", material, figures))


def record_weighing(
    record: Record,
    clock: Clock,
    dryer: str,
    spool: str,
    *,
    before_g: float,
    after_g: float,
    body_g: float,
    temp_c: float,
    hours: float,
    stored_pct: float,
    who: str = OFFICE,
) -> Calibration:
    """Record a weighing, and the dryer's coil factor from all of its weighings."""
    with record.writing() as unit:
        shop = unit.fleet.load()
        _known(dryer, "dryer", {each.id for each in shop.dryers})
        _known(spool, "spool", {each.id for each in shop.spools})
        material_id = next(each.material for each in shop.spools if each.id == spool)
        material = next(each for each in shop.materials if each.id == material_id)
        polymer = polymer_of(material)
        if polymer is None:
            raise Refused(
                f"nothing is known of water in {material.polymer}, so that this weighing tells nothing"
            )
        vacuum = next(each.vacuum for each in shop.dryers if each.id == dryer)
        weighing = Weighing(
            polymer, material.filament_mm, before_g, after_g, body_g, temp_c, hours, vacuum, stored_pct
        )
        name = polymer.name if material.filled is None else f"{polymer.name}-{_ending(material.filled)}"
        unit.water.add_weighing(RecordedWeighing(clock(), dryer, spool, name, weighing, who))
        all_of_them = [each.weighing for each in unit.water.weighings(dryer)]
        known = unit.water.dryers().get(dryer, KnownDryer())
        room = Air.of_room(shop.site.ambient_c, stored_pct)
        found = calibrate(all_of_them, known.air, room)
        weighed = replace(known.air, coil_factor=found.factor.value)
        unit.water.save_dryer(dryer, KnownDryer(weighed, found.factor))
        figures = {"lost_g": round(weighing.lost_g, 2), "coil_factor": round(found.factor.value, 3)}
        unit.events.append(Event(clock(), "spool weighed", who, "dryer", dryer, {"spool": spool, **figures}))
    return found


def _ending(filled: str) -> str:
    return {"carbon": "CF", "glass": "GF", "mineral": "MF"}[filled]


def record_log(
    record: Record, clock: Clock, printer: str, kind: Kind, text: str, name: str, who: str = OFFICE
) -> Fit:
    """Fit a chamber's log and record the fit; the printer's own figures stay until somebody changes them."""
    with record.writing() as unit:
        shop = unit.fleet.load()
        zone = ZoneInfo(shop.site.timezone)
        log = read_log(text, name, zone)
        _known(printer, "machine", {each.id for each in shop.printers})
        fit = (
            fit_heating(*heating_part(log))
            if kind == "heating"
            else fit_cooling(*cooling_part(log), room_c=shop.site.ambient_c)
        )
        taken: date = (log.began or clock()).astimezone(zone).date()
        unit.water.add_log(RecordedFit(clock(), printer, taken, fit, who))
        figures = {"tau_min": round(fit.tau_min.value, 2), "end_c": round(fit.end_c.value, 1)}
        unit.events.append(Event(clock(), f"{kind} log fitted", who, "printer", printer, figures))
    return fit


def reach_trend(printer: Printer, logs: tuple[RecordedFit, ...]) -> Trend | None:
    """How a printer's reach goes; ``None`` without a heating log or a heated chamber."""
    heating = [Reach(each.taken_on, each.fit.end_c) for each in logs if each.fit.kind == "heating"]
    if not heating or printer.chamber_reach_c is None or printer.chamber_max_c is None:
        return None
    return trend(heating, printer.chamber_reach_c, printer.chamber_max_c)


def climate(unit: Unit, scenario: Scenario) -> Climate:
    """The room's air through time."""
    air = unit.water.room_air()
    return Climate(air.by_hour_pct, scenario.site.ambient_c, unit.water.readings())


def humidity_now(unit: Unit, scenario: Scenario, now: datetime) -> float:
    """The humidity to plan with: the mean of the last day's readings, else of the hours, %."""
    room = climate(unit, scenario)
    fresh = [each.humidity_pct for each in room.readings if now - LOOK_BACK <= each.at <= now]
    return sum(fresh) / len(fresh) if fresh else room.mean_pct()


def surroundings(unit: Unit, scenario: Scenario, now: datetime) -> Surroundings:
    """What the model is told about the shop at an instant."""
    return Surroundings(
        humidity_now(unit, scenario, now),
        {dryer: known.air for dryer, known in unit.water.dryers().items()},
        unit.water.limits(),
        unit.water.room_air().longer_open,
    )


def _known(id: str, what: str, ids: set[str]) -> None:
    if id not in ids:
        raise Refused(f"there is no {what} {id}")
