"""Humid air: vapour pressure, what heating and vacuum make of it, how fast vapour moves in it.

A dryer without a desiccant breathes the room's air: heating leaves its vapour pressure as it is and
lowers its relative humidity. That humidity, at the filament's own temperature, is what the surface of
the filament sees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scheduler.physics.nonsense import kelvin, number, positive, within

#: Gas constant, J/(mol K), and molar mass of water, kg/mol.
GAS = 8.314462618
WATER_KG_PER_MOL = 0.018015268
STANDARD_PA = 101_325.0

_CRITICAL_K, _CRITICAL_PA = 647.096, 22.064e6
_FREEZING_K = 273.16
#: Coefficients and powers of the saturation line of IAPWS SR1-86 (Wagner and Pruss 1993, eq. 1).
_LIQUID = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)


def saturation_pa(temp_c: float) -> float:
    """Pressure of saturated water vapour, Pa, -100 to 370 °C.

    Over water by IAPWS SR1-86 (Wagner and Pruss 1993); under 0.01 °C over ice by Murphy and Koop
    2005, eq. 7.
    """
    temp_k = kelvin("the air's temperature", temp_c)
    within("the air's temperature", temp_c, -100, 370, "°C")
    if temp_k < _FREEZING_K:
        exponent = 9.550426 - 5723.265 / temp_k + 3.53068 * math.log(temp_k) - 0.00728332 * temp_k
        return math.exp(exponent)
    theta = 1 - temp_k / _CRITICAL_K
    terms = sum(factor * theta**power for factor, power in _LIQUID)
    return float(_CRITICAL_PA * math.exp(_CRITICAL_K / temp_k * terms))


def diffusivity_m2_per_s(temp_c: float, pressure_pa: float = STANDARD_PA) -> float:
    """Diffusivity of water vapour in air, m²/s: 1.87e-10 T^2.072 / p in atm (Marrero and Mason 1972)."""
    temp_k = kelvin("the air's temperature", temp_c)
    positive("the air's pressure", pressure_pa, "Pa")
    return float(1.87e-10 * temp_k**2.072 * STANDARD_PA / pressure_pa)


def vapour_kg_per_m3(vapour_pa: float, temp_c: float) -> float:
    """Mass of vapour in a cubic metre, kg/m³, as an ideal gas."""
    return vapour_pa * WATER_KG_PER_MOL / (GAS * kelvin("the air's temperature", temp_c))


@dataclass(frozen=True, slots=True)
class Air:
    """Air around a spool.

    Parameters
    ----------
    temp_c : float
        Temperature of the air and of the filament in it, °C.
    vapour_pa : float
        Pressure of the water vapour in it, Pa.
    pressure_pa : float
        Pressure of the whole, Pa; less than that of the atmosphere in a vacuum oven.
    """

    temp_c: float
    vapour_pa: float
    pressure_pa: float = STANDARD_PA

    def __post_init__(self) -> None:
        kelvin("the air's temperature", self.temp_c)
        within("the air's temperature", self.temp_c, -100, 370, "°C")
        positive("the air's pressure", self.pressure_pa, "Pa")
        number("the vapour pressure", self.vapour_pa, "Pa")
        within("the vapour pressure", self.vapour_pa, 0, self.pressure_pa, "Pa")

    @property
    def humidity(self) -> float:
        """Relative humidity as a share of 1; never above 1."""
        return min(1.0, self.vapour_pa / saturation_pa(self.temp_c))

    @classmethod
    def of_room(cls, temp_c: float, humidity_pct: float) -> Air:
        """A room's air: °C and relative humidity in per cent, 0 to 100."""
        within("the relative humidity", humidity_pct, 0, 100, "%")
        return cls(temp_c, saturation_pa(temp_c) * humidity_pct / 100)

    @classmethod
    def of_dew_point(cls, temp_c: float, dew_point_c: float) -> Air:
        """Air that a desiccant or a compressor has dried to a dew point, °C, at ``temp_c``."""
        within("the dew point", dew_point_c, -100, temp_c, "°C")
        return cls(temp_c, saturation_pa(dew_point_c))

    def heated(self, temp_c: float) -> Air:
        """The same air at another temperature: the vapour pressure stays."""
        return Air(temp_c, min(self.vapour_pa, saturation_pa(temp_c)), self.pressure_pa)

    def evacuated(self, pressure_pa: float) -> Air:
        """What leaks into a pump's vacuum: the same mixture, thinner in proportion."""
        within("the pressure in the vacuum", pressure_pa, 1, self.pressure_pa, "Pa")
        return Air(self.temp_c, self.vapour_pa * pressure_pa / self.pressure_pa, pressure_pa)
