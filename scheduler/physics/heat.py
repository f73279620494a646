"""First-order heating and cooling of a printer's chamber.

A chamber under constant power approaches a temperature that it never passes (its reach), and
without power it falls towards the room's; both as one exponential, the lumped-capacity limit of
Newton's law of cooling (Incropera et al., *Fundamentals of Heat and Mass Transfer*, ch. 5: valid
for a Biot number up to about 0.1). The time constants are the printer's own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scheduler.model import Printer, Span

#: A duration within this of a whole minute counts as that minute.
ROUNDING = 1e-6
#: A chamber within this of the release temperature counts as there, °C.
RELEASE_TOLERANCE_C = 1e-6


def whole_minutes(minutes: float) -> int:
    """``minutes`` rounded up to whole ones, forgiving a rounding error of 1e-6."""
    return math.ceil(minutes - ROUNDING)


def setpoint_c(preferred_c: float, window: Span, printer: Printer, ambient_c: float) -> float:
    """The chamber's setpoint for a job, °C.

    Parameters
    ----------
    preferred_c : float
        What the first feed's material would like, °C.
    window : Span
        Common part of all feeds' chamber windows, °C.

    Returns
    -------
    float
        The preference clipped to the window and to the printer's maximum; ``ambient_c`` where
        there is no heated chamber or nothing to heat.
    """
    if printer.chamber_max_c is None:
        return ambient_c
    return max(ambient_c, min(window.clip(preferred_c), printer.chamber_max_c))


def decayed_c(from_c: float, minutes: float, cool_tau_min: float, ambient_c: float) -> float:
    """Temperature of an unheated chamber ``minutes`` after it was at ``from_c``, °C."""
    return ambient_c + (from_c - ambient_c) * math.exp(-minutes / cool_tau_min)


def chamber_minutes(
    from_c: float, to_c: float, highest_c: float, printer: Printer, ambient_c: float
) -> float:
    """Minutes until a chamber at ``from_c`` suits a job, not rounded.

    Heating where it is below the setpoint ``to_c``; falling where it is above ``highest_c``, the
    upper end of the job's chamber window; else nothing.
    """
    heated = printer.chamber_reach_c is not None and to_c > ambient_c
    if heated and from_c < to_c:
        reach = printer.chamber_reach_c
        assert reach is not None
        return printer.heat_tau_min * math.log((reach - from_c) / (reach - to_c))
    if from_c > highest_c:
        return printer.cool_tau_min * math.log((from_c - ambient_c) / (highest_c - ambient_c))
    return 0.0


def preheat_minutes(
    from_c: float, to_c: float, highest_c: float, soak_min: int, printer: Printer, ambient_c: float
) -> int:
    """Least whole minutes of a preheat: chamber and plate hot, then the soak."""
    chamber = chamber_minutes(from_c, to_c, highest_c, printer, ambient_c)
    return whole_minutes(max(chamber, printer.bed_heat_min)) + soak_min


@dataclass(frozen=True, slots=True)
class Cooldown:
    """How long a chamber cools after a print, whole minutes, and where it then is, °C."""

    minutes: int
    end_c: float


def cooldown_c(
    from_c: float, minutes: float, cap_c_per_min: float | None, cool_tau_min: float, ambient_c: float
) -> float:
    """Chamber temperature ``minutes`` into a cool-down from ``from_c``, °C.

    The fall is linear at the cap while the natural rate ``(T - ambient)/tau`` is above it, and
    natural from then on.
    """
    excess = from_c - ambient_c
    if excess <= 0:
        return from_c
    if cap_c_per_min is not None and excess / cool_tau_min > cap_c_per_min:
        gentle = cap_c_per_min * cool_tau_min
        linear = (excess - gentle) / cap_c_per_min
        if minutes <= linear:
            return from_c - cap_c_per_min * minutes
        return ambient_c + gentle * math.exp(-(minutes - linear) / cool_tau_min)
    return ambient_c + excess * math.exp(-minutes / cool_tau_min)


def _natural_minutes(excess: float, target: float, cool_tau_min: float) -> float:
    return cool_tau_min * math.log(excess / target) if excess > target else 0.0


def natural_or_capped(
    from_c: float, release_c: float, cap_c_per_min: float | None, cool_tau_min: float, ambient_c: float
) -> float:
    """Minutes until a chamber at ``from_c`` is at ``release_c``, not rounded; no faster than the cap."""
    excess, target = from_c - ambient_c, release_c - ambient_c
    if excess <= target:
        return 0.0
    gentle = math.inf if cap_c_per_min is None else cap_c_per_min * cool_tau_min
    if cap_c_per_min is None or excess <= gentle:
        return _natural_minutes(excess, target, cool_tau_min)
    if target >= gentle:
        return (excess - target) / cap_c_per_min
    return (excess - gentle) / cap_c_per_min + _natural_minutes(gentle, target, cool_tau_min)


def cooldown(
    from_c: float,
    release_c: float,
    cap_c_per_min: float | None,
    printer: Printer,
    ambient_c: float,
) -> Cooldown:
    """The cool-down after a print at setpoint ``from_c``.

    Parameters
    ----------
    release_c : float
        The smallest release temperature of the feeds, °C; above ``ambient_c``.
    cap_c_per_min : float or None
        The smallest cooling cap of the feeds.
    """
    tau = printer.cool_tau_min
    if release_c + RELEASE_TOLERANCE_C <= ambient_c:
        raise ValueError(f"a release at {release_c:g} °C is not above the room's {ambient_c:g} °C")
    lasts = natural_or_capped(from_c, release_c + RELEASE_TOLERANCE_C, cap_c_per_min, tau, ambient_c)
    minutes = max(printer.bed_cool_min, math.ceil(lasts - 1e-9))
    return Cooldown(minutes, cooldown_c(from_c, minutes, cap_c_per_min, tau, ambient_c))
