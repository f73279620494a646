"""Setpoint, preheat and cool-down by the chamber's own temperature."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.checking import thermal
from scheduler.checking.breach import Breach
from scheduler.checking.view import COOLDOWN, PREHEAT, Stint, View
from scheduler.model import Printer
from scheduler.physics.heat import decayed_c

#: Temperatures agree to this, °C.
TOLERANCE_C = 1e-6


def check_setpoint(view: View) -> Iterator[Breach]:
    """``chamber_c`` is the setpoint of the feeds on this printer."""
    for stint in view.stints.values():
        asked = thermal.setpoint_c(view.scenario, stint)
        if abs(stint.planned.chamber_c - asked) > TOLERANCE_C:
            text = f"chamber_c is {stint.planned.chamber_c:g} °C, the setpoint is {asked:g} °C"
            yield Breach("setpoint", stint.who, text, (stint.job.id,))


def chamber_c(view: View, printer: Printer, minute: int) -> float:
    """Temperature of a chamber at ``minute``, if nothing heats it since its last cool-down, °C.

    Cool-downs that ended by ``plan_start`` are told by ``chamber_now_c``.
    """
    ambient = view.scenario.site.ambient_c
    if printer.chamber_max_c is None:
        return ambient
    last: Stint | None = None
    for stint in view.on_printer[printer.id]:
        if 0 < stint.ends[COOLDOWN] <= minute and (
            last is None or stint.ends[COOLDOWN] >= last.ends[COOLDOWN]
        ):
            last = stint
    if last is None:
        return decayed_c(printer.chamber_now_c, minute, printer.cool_tau_min, ambient)
    from_c = thermal.after_cooldown_c(view.scenario, last)
    return decayed_c(from_c, minute - last.ends[COOLDOWN], printer.cool_tau_min, ambient)


def check_preheat(view: View) -> Iterator[Breach]:
    """Long enough for chamber, plate and soak; it may hold longer."""
    for stint in view.stints.values():
        if stint.begun > PREHEAT or stint.length(PREHEAT) < 0:
            continue
        from_c = chamber_c(view, stint.printer, stint.starts[PREHEAT])
        asked = thermal.preheat_minutes(view.scenario, stint, from_c)
        if stint.length(PREHEAT) < asked:
            setpoint = thermal.setpoint_c(view.scenario, stint)
            text = (
                f"preheat lasts {stint.length(PREHEAT)} min, asked for: {asked} min "
                f"(chamber from {from_c:.1f} °C for {setpoint:g} °C, plate {stint.printer.bed_heat_min} min, "
                f"soak {thermal.soak_minutes(stint)} min)"
            )
            yield Breach("preheat", stint.who, text, (stint.job.id,))


def check_cooldown(view: View) -> Iterator[Breach]:
    """Exactly until the chamber is cool enough to open."""
    for stint in view.stints.values():
        if stint.begun > COOLDOWN or stint.length(COOLDOWN) < 0:
            continue
        asked = thermal.cooldown(view.scenario, stint)
        if stint.length(COOLDOWN) != asked.minutes:
            release = min(material.release_c for material in stint.materials)
            text = (
                f"cooldown lasts {stint.length(COOLDOWN)} min, asked for: {asked.minutes} min "
                f"(from {thermal.setpoint_c(view.scenario, stint):g} °C to {release:g} °C)"
            )
            yield Breach("cooldown", stint.who, text, (stint.job.id,))
