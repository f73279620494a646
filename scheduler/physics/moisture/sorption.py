"""What a polymer holds of water and how fast it moves in it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scheduler.physics.moisture.air import GAS
from scheduler.physics.nonsense import Nonsense, kelvin, number, positive, within


@dataclass(frozen=True, slots=True)
class Diffusivity:
    """Diffusivity of water in a polymer by Arrhenius' law in absolute temperature.

    Parameters
    ----------
    at_m2_per_s : float
        Value at ``at_c``, m²/s.
    at_c : float
        Reference temperature, °C.
    activation_kj_per_mol : float
        Activation energy, kJ/mol.
    """

    at_m2_per_s: float
    at_c: float
    activation_kj_per_mol: float

    def __post_init__(self) -> None:
        positive("the diffusivity", self.at_m2_per_s, "m²/s")
        kelvin("the diffusivity's reference temperature", self.at_c)
        within("the activation energy", self.activation_kj_per_mol, 0, 200, "kJ/mol")

    def m2_per_s(self, temp_c: float) -> float:
        """Diffusivity at ``temp_c``, m²/s."""
        inverse = 1 / kelvin("the filament's temperature", temp_c) - 1 / kelvin("the reference", self.at_c)
        return self.at_m2_per_s * math.exp(-self.activation_kj_per_mol * 1e3 / GAS * inverse)


@dataclass(frozen=True, slots=True)
class Isotherm:
    """Moisture in equilibrium with air: ``saturated_pct * humidity ** exponent``, per cent of dry mass.

    Exponent 1 is Henry's law. ``warmth_kj_per_mol`` raises the saturated content with temperature at
    the same relative humidity, as measured for several films (0: not at all).
    """

    saturated_pct: float
    exponent: float = 1.0
    at_c: float = 23.0
    warmth_kj_per_mol: float = 0.0

    def __post_init__(self) -> None:
        positive("the saturated moisture content", self.saturated_pct, "%")
        within("the isotherm's exponent", self.exponent, 0.3, 5)
        kelvin("the isotherm's reference temperature", self.at_c)
        within("the isotherm's heat", self.warmth_kj_per_mol, -50, 50, "kJ/mol")

    def saturated_at_pct(self, temp_c: float) -> float:
        """Moisture at 100 % relative humidity and ``temp_c``, %."""
        inverse = 1 / kelvin("the filament's temperature", temp_c) - 1 / kelvin("the reference", self.at_c)
        return self.saturated_pct * math.exp(-self.warmth_kj_per_mol * 1e3 / GAS * inverse)

    def moisture_pct(self, humidity: float, temp_c: float) -> float:
        """Equilibrium moisture, %, at a relative humidity (share of 1)."""
        number("the relative humidity", humidity)
        if not 0 <= humidity <= 1:
            raise Nonsense(f"the relative humidity is {humidity:.0%}; it must lie between 0 and 100 %")
        return float(self.saturated_at_pct(temp_c) * humidity**self.exponent)

    def humidity(self, moisture_pct: float, temp_c: float) -> float:
        """The relative humidity (share of 1, at most 1) that keeps ``moisture_pct``."""
        share = moisture_pct / self.saturated_at_pct(temp_c)
        return float(min(1.0, max(0.0, share) ** (1 / self.exponent)))
