"""Changes to machines, materials and stock, stored only if the shop as a whole stays sound."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, TypeVar

from scheduler.model import Dryer, Material, Oven, Printer, Scenario, Shift, Site, Spool
from scheduler.model.codec import scenario_offences
from scheduler.office.clock import Clock
from scheduler.office.refused import Refused
from scheduler.office.shop import OFFICE
from scheduler.store import Event, Record, Unit

T = TypeVar("T", Printer, Dryer, Oven, Material, Spool)


def save_printer(
    record: Record, clock: Clock, printer: Printer, seen: int | None = None, who: str = OFFICE
) -> None:
    """Record a printer, new or changed.

    Parameters
    ----------
    seen : int, optional
        The version of the shop that the change is based on; refused if it is not that of now.

    Raises
    ------
    Refused
        With everything that would be wrong with the shop; nothing is stored then.
    StaleVersion
        If somebody changed the shop since ``seen``.
    """
    _save(record, clock, "printer", printer, lambda unit: unit.fleet.save_printer(printer), seen, who)


def save_dryer(
    record: Record, clock: Clock, dryer: Dryer, seen: int | None = None, who: str = OFFICE
) -> None:
    """Record a dryer, as :func:`save_printer` does a printer."""
    _save(record, clock, "dryer", dryer, lambda unit: unit.fleet.save_dryer(dryer), seen, who)


def save_oven(record: Record, clock: Clock, oven: Oven, seen: int | None = None, who: str = OFFICE) -> None:
    """Record an oven, as :func:`save_printer` does a printer."""
    _save(record, clock, "oven", oven, lambda unit: unit.fleet.save_oven(oven), seen, who)


def save_material(
    record: Record, clock: Clock, material: Material, seen: int | None = None, who: str = OFFICE
) -> None:
    """Record a material, as :func:`save_printer` does a printer."""
    _save(record, clock, "material", material, lambda unit: unit.fleet.save_material(material), seen, who)


def save_spool(
    record: Record, clock: Clock, spool: Spool, seen: int | None = None, who: str = OFFICE
) -> None:
    """Record a spool, as :func:`save_printer` does a printer."""
    _save(record, clock, "spool", spool, lambda unit: unit.fleet.save_spool(spool), seen, who)


def save_site(
    record: Record,
    clock: Clock,
    site: Site,
    shifts: tuple[Shift, ...],
    seen: int | None = None,
    who: str = OFFICE,
) -> None:
    """Record the shop's figures, purges and shifts, as :func:`save_printer` does a printer."""
    with record.writing() as unit:
        if seen is not None:
            unit.fleet.expect_version(seen)
        must_be_sound(replace(unit.fleet.load(), site=site, shifts=shifts))
        unit.fleet.save_site(site, shifts)
        unit.events.append(Event(clock(), "site changed", who, "shop", site.name))


def remove_printer(record: Record, clock: Clock, id: str, who: str = OFFICE) -> None:
    """Take a printer out of the record; :class:`Refused` if something still names it."""
    _remove(record, clock, "printer", id, lambda unit: unit.fleet.remove_printer(id), who)


def remove_dryer(record: Record, clock: Clock, id: str, who: str = OFFICE) -> None:
    """Take a dryer out of the record; :class:`Refused` if something still names it."""
    _remove(record, clock, "dryer", id, lambda unit: unit.fleet.remove_dryer(id), who)


def remove_oven(record: Record, clock: Clock, id: str, who: str = OFFICE) -> None:
    """Take an oven out of the record; :class:`Refused` if something still names it."""
    _remove(record, clock, "oven", id, lambda unit: unit.fleet.remove_oven(id), who)


def remove_material(record: Record, clock: Clock, id: str, who: str = OFFICE) -> None:
    """Take a material out of the record; :class:`Refused` if something still names it."""
    _remove(record, clock, "material", id, lambda unit: unit.fleet.remove_material(id), who)


def remove_spool(record: Record, clock: Clock, id: str, who: str = OFFICE) -> None:
    """Take a spool out of the record; :class:`Refused` if something still names it."""
    _remove(record, clock, "spool", id, lambda unit: unit.fleet.remove_spool(id), who)


def must_be_sound(scenario: Scenario) -> None:
    """Raise :class:`Refused` with everything that is wrong with a shop."""
    offences = scenario_offences(scenario)
    if offences:
        raise Refused(offences=offences)


def _save(
    record: Record,
    clock: Clock,
    kind: str,
    thing: T,
    store: Callable[[Unit], bool],
    seen: int | None,
    who: str,
) -> None:
    with record.writing() as unit:
        if seen is not None:
            unit.fleet.expect_version(seen)
        scenario = unit.fleet.load()
        things: tuple[T, ...] = getattr(scenario, f"{kind}s")
        changed = tuple(thing if other.id == thing.id else other for other in things)
        if thing.id not in {other.id for other in things}:
            changed += (thing,)
        must_be_sound(_with(scenario, kind, changed))
        new = store(unit)
        unit.events.append(Event(clock(), f"{kind} {'added' if new else 'changed'}", who, kind, thing.id))


def _remove(
    record: Record, clock: Clock, kind: str, id: str, remove: Callable[[Unit], bool], who: str
) -> None:
    with record.writing() as unit:
        scenario = unit.fleet.load()
        things = getattr(scenario, f"{kind}s")
        left = tuple(other for other in things if other.id != id)
        if len(left) == len(things):
            raise Refused(f"there is no {kind} {id}")
        must_be_sound(_with(scenario, kind, left))
        remove(unit)
        unit.events.append(Event(clock(), f"{kind} removed", who, kind, id))


def _with(scenario: Scenario, kind: str, things: tuple[Any, ...]) -> Scenario:
    changes: dict[str, Any] = {f"{kind}s": things}
    return replace(scenario, **changes)
