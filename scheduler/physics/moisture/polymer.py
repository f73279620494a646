"""What is known of water in one polymer: figures with their ranges, sureness and sources."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from scheduler.physics.moisture.sorption import Diffusivity, Isotherm

Sure = Literal["S", "P", "E"]


@dataclass(frozen=True, slots=True)
class Known:
    """A figure with the range that it may lie in, how sure it is and where it is from."""

    value: float
    least: float
    most: float
    sure: Sure
    sources: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Polymer:
    """Water in one polymer.

    Parameters
    ----------
    name : str
        As :attr:`scheduler.model.Material.polymer` spells it.
    diffusivity : Known
        At 23 °C, m²/s.
    activation : Known
        Of the diffusivity, kJ/mol.
    saturated : Known
        Moisture at 100 % relative humidity and 23 °C, % of dry mass.
    exponent : Known
        Of the isotherm; 1 is Henry's law.
    warmth_kj_per_mol : float
        How saturation grows with temperature, kJ/mol.
    limit : Known
        Most moisture to print at, %.
    density_kg_per_m3 : float
    softens_c : float or None
        Glass transition, °C, for the caution that filament sticks together; ``None``: under room.
    hydrolyses : bool
        Water breaks its chains in the hot end, so that the limit is one of strength, not of looks.
    """

    name: str
    diffusivity: Known
    activation: Known
    saturated: Known
    exponent: Known
    warmth_kj_per_mol: float
    limit: Known
    density_kg_per_m3: float
    softens_c: float | None
    hydrolyses: bool = False

    @property
    def motion(self) -> Diffusivity:
        """The law of its diffusivity."""
        return Diffusivity(self.diffusivity.value, 23.0, self.activation.value)

    @property
    def isotherm(self) -> Isotherm:
        """What it holds at which humidity."""
        return Isotherm(self.saturated.value, self.exponent.value, 23.0, self.warmth_kj_per_mol)

    def slower(self) -> Polymer:
        """The same with the slowest diffusivity of its range."""
        return self._moving(self.diffusivity.least)

    def faster(self) -> Polymer:
        """The same with the fastest diffusivity of its range."""
        return self._moving(self.diffusivity.most)

    def _moving(self, diffusivity: float) -> Polymer:
        return replace(self, diffusivity=replace(self.diffusivity, value=diffusivity))
