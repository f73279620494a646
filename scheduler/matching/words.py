"""Figures as people write them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def figure(value: float) -> str:
    """A number without needless zeros, up to six decimals."""
    if value == int(value):
        return str(int(value))
    return f"{value:.6f}".rstrip("0").rstrip(".")


def duration(minutes: float) -> str:
    """Minutes, from two hours on as hours and minutes."""
    if minutes < 120:
        return f"{figure(minutes)} min"
    hours, rest = divmod(int(minutes), 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def millimetres(sides: Sequence[float]) -> str:
    """Lengths side by side, for example ``180 × 290 × 250 mm``."""
    return " × ".join(figure(side) for side in sides) + " mm"


def listed(words: Iterable[str], none: str = "none") -> str:
    """Words joined by commas, or ``none``."""
    return ", ".join(words) or none
