"""What the materials of a job's feeds ask for together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.model import Material, Printer, Span
from scheduler.physics import Cooldown, cooldown, setpoint_c


def common_window(windows: Iterable[Span]) -> Span | None:
    """The part that all windows share, or ``None`` where they lie apart."""
    spans = tuple(windows)
    lo, hi = max(span.lo for span in spans), min(span.hi for span in spans)
    return Span(lo, hi) if lo <= hi else None


@dataclass(frozen=True, slots=True)
class Together:
    """The materials of one plate, first feed first, and the figures that they share.

    Parameters
    ----------
    bed_c, chamber_c : Span or None
        Common windows, °C; ``None`` where the materials' windows lie apart.
    soak_min : int
        The longest soak, minutes.
    release_c : float
        The lowest release temperature, °C.
    max_cool_c_per_min : float or None
        The gentlest cooling cap, °C/min.
    """

    materials: tuple[Material, ...]
    bed_c: Span | None
    chamber_c: Span | None
    soak_min: int
    release_c: float
    max_cool_c_per_min: float | None

    @classmethod
    def of(cls, materials: tuple[Material, ...]) -> Together:
        """Work out the shared figures of one or two materials."""
        caps = [m.max_cool_c_per_min for m in materials if m.max_cool_c_per_min is not None]
        return cls(
            materials=materials,
            bed_c=common_window(m.bed_c for m in materials),
            chamber_c=common_window(m.chamber_c for m in materials),
            soak_min=max(m.soak_min for m in materials),
            release_c=min(m.release_c for m in materials),
            max_cool_c_per_min=min(caps, default=None),
        )

    @property
    def heating_window(self) -> Span:
        """The common chamber window.

        Where the windows lie apart nothing fits, but a begun job still has to cool down: then the
        first feed's window counts, as the first feed is the part.
        """
        return self.chamber_c or self.materials[0].chamber_c

    def setpoint_c(self, printer: Printer, ambient_c: float) -> float:
        """The chamber's setpoint on a printer, °C."""
        first = self.materials[0]
        return setpoint_c(first.chamber_set_c, self.heating_window, printer, ambient_c)

    def cooldown(self, printer: Printer, ambient_c: float) -> Cooldown:
        """The cool-down on a printer after a print at the setpoint."""
        from_c = self.setpoint_c(printer, ambient_c)
        return cooldown(from_c, self.release_c, self.max_cool_c_per_min, printer, ambient_c)
