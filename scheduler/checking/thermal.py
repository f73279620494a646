"""What a job asks of the chamber on its printer, and how warm the chamber is."""

from __future__ import annotations

from scheduler.checking.view import COOLDOWN, Stint
from scheduler.model import Scenario, Span
from scheduler.physics import heat


def window(stint: Stint) -> Span:
    """Common part of the feeds' chamber windows, °C.

    Only a begun job can have feeds whose windows lie apart (the matcher takes care of the rest); for
    it the part's own window stands.
    """
    lo = max(material.chamber_c.lo for material in stint.materials)
    hi = min(material.chamber_c.hi for material in stint.materials)
    return Span(lo, hi) if lo <= hi else stint.materials[0].chamber_c


def setpoint_c(scenario: Scenario, stint: Stint) -> float:
    """The chamber's setpoint, °C."""
    preferred = stint.materials[0].chamber_set_c
    return heat.setpoint_c(preferred, window(stint), stint.printer, scenario.site.ambient_c)


def soak_minutes(stint: Stint) -> int:
    """The longest soak that a feed asks for."""
    return max(material.soak_min for material in stint.materials)


def cap_c_per_min(stint: Stint) -> float | None:
    """The gentlest cooling that a feed asks for, °C/min."""
    caps = [m.max_cool_c_per_min for m in stint.materials if m.max_cool_c_per_min is not None]
    return min(caps, default=None)


def cooldown(scenario: Scenario, stint: Stint) -> heat.Cooldown:
    """The cool-down that the contract asks for."""
    release = min(material.release_c for material in stint.materials)
    ambient = scenario.site.ambient_c
    return heat.cooldown(setpoint_c(scenario, stint), release, cap_c_per_min(stint), stint.printer, ambient)


def after_cooldown_c(scenario: Scenario, stint: Stint) -> float:
    """Where the chamber is after the cool-down's minutes as planned or given, °C."""
    return heat.cooldown_c(
        setpoint_c(scenario, stint),
        max(0, stint.length(COOLDOWN)),
        cap_c_per_min(stint),
        stint.printer.cool_tau_min,
        scenario.site.ambient_c,
    )


def print_minutes(stint: Stint) -> int:
    """Whole minutes of the print on its printer."""
    return heat.whole_minutes(stint.job.print_min * stint.printer.speed_factor)


def preheat_minutes(scenario: Scenario, stint: Stint, from_c: float) -> int:
    """Least whole minutes of the preheat from a chamber at ``from_c``."""
    return heat.preheat_minutes(
        from_c,
        setpoint_c(scenario, stint),
        window(stint).hi,
        soak_minutes(stint),
        stint.printer,
        scenario.site.ambient_c,
    )


def hours_as_minutes(hours: float) -> int:
    """Whole minutes of a figure in hours."""
    return heat.whole_minutes(60 * hours)
