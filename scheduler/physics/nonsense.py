"""Figures that no machine, room or filament can have, refused with one message each."""

from __future__ import annotations

import math

from scheduler.model.errors import SoaklineError

ABSOLUTE_ZERO_C = -273.15


class Nonsense(SoaklineError):
    """A figure outside of what can be; the message names it, its value and what is possible."""


def number(what: str, value: float, unit: str = "") -> float:
    """``value`` if it is a finite number."""
    if not math.isfinite(value):
        raise Nonsense(f"{what} is {value}{_(unit)}; it must be a number")
    return value


def positive(what: str, value: float, unit: str = "") -> float:
    """``value`` if it is above zero."""
    number(what, value, unit)
    if value <= 0:
        raise Nonsense(f"{what} is {value:g}{_(unit)}; it must be above 0")
    return value


def at_least(what: str, value: float, least: float, unit: str = "") -> float:
    """``value`` if it is not under ``least``."""
    number(what, value, unit)
    if value < least:
        raise Nonsense(f"{what} is {value:g}{_(unit)}; it can't be under {least:g}{_(unit)}")
    return value


def within(what: str, value: float, least: float, most: float, unit: str = "") -> float:
    """``value`` if it lies in ``[least, most]``."""
    number(what, value, unit)
    if not least <= value <= most:
        raise Nonsense(f"{what} is {value:g}{_(unit)}; it must lie between {least:g} and {most:g}{_(unit)}")
    return value


def kelvin(what: str, celsius: float) -> float:
    """Absolute temperature, K, of ``celsius``; refused at absolute zero and under it."""
    number(what, celsius, "°C")
    if celsius <= ABSOLUTE_ZERO_C:
        raise Nonsense(
            f"{what} is {celsius:g} °C, which is {celsius - ABSOLUTE_ZERO_C:g} K;"
            " it must be above absolute zero"
        )
    return celsius - ABSOLUTE_ZERO_C


def _(unit: str) -> str:
    return f" {unit}" if unit else ""
