"""Curves of open literature, run again with the library's own constants and with one figure fitted.

Each curve names its source and what the source leaves open. ``own`` is the model as it stands, nothing
fitted; ``fitted`` is the same with the one figure that the open text does not tell, or that a maker's recipe
hides, put at its best.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from scheduler.physics.moisture.polymers import POLYMERS
from scheduler.physics.moisture.series import cylinder_share, sheet_share

#: Hours at 125 °C before forming, by a sheet's thickness, mm (open manual of a maker of polycarbonate sheet,
#: its table of typical pre-drying times; azmanual.top/manuals/740079, page 32).
PC_SHEET_H = {1.0: 1.5, 2.0: 4.0, 3.0: 7.0, 4.0: 12.0, 5.0: 18.0, 6.0: 26.0, 8.0: 45.0}

#: Moisture of crystalline polyester pellets through a hot-air run, minutes and % (a trade journal's
#: chart of December 2014, read in its order of size; the temperature is not in the open text).
PET_PELLETS = (
    (0, 0.1823), (60, 0.04), (120, 0.015), (180, 0.011), (240, 0.0075), (300, 0.0053), (360, 0.0040),
    (420, 0.0035), (480, 0.0021),
)  # fmt: skip

#: Hours to dry pellets of polysulfone by the air's temperature, °C (a resin maker's open processing guide,
#: yumpu.com/en/document/view/26716955, page 4: for moulding below 0.05 %, for extrusion below 0.01 %).
PSU_PELLETS_H = {135.0: 4.0, 149.0: 3.0, 163.0: 2.0}

#: Water taken up by mouldings of polyamide 6, y = m tⁿ in % (a resin maker's open page,
#: plastics.toray/ja/technical/amilan/tec_003.html, table 3). The unit of t is not in its text.
PA6_LAWS = {
    "disc 60 × 3 mm in air, 60 %, 20 °C": (0.40, 0.45),
    "disc 60 × 3 mm in water, 20 °C": (2.8, 0.45),
    "bar 12.7 × 6.35 × 127 mm in water, 20 °C": (0.9, 0.46),
    "bar 12.7 × 6.35 × 127 mm in water, 100 °C": (1.3, 0.45),
}
UNITS_H = {"hours": 1.0, "days": 24.0, "weeks": 168.0}
#: Times of a law that are looked at, in its unit, as far as half of saturation.
TIMES = (1, 2, 4, 8, 16)

PELLET_MM = 3.0


@dataclass(frozen=True, slots=True)
class Curve:
    """A published curve beside the model's.

    ``rows`` hold the place, what is published, the model as it stands, the model with one figure fitted.
    """

    polymer: str
    title: str
    source: str
    left_open: str
    fitted: str
    x_unit: str
    y_unit: str
    rows: tuple[tuple[float, float, float, float], ...]

    @property
    def own_off(self) -> float:
        """Root mean square of the deviations' logarithms, as a share; nothing fitted."""
        return _off([(told, own) for _, told, own, _ in self.rows])

    @property
    def fitted_off(self) -> float:
        """The same with the one figure fitted."""
        return _off([(told, fitted) for _, told, _, fitted in self.rows])


def curves() -> tuple[Curve, ...]:
    """Curves of four polymers."""
    return (pc_sheet(), pet_pellets(), psu_pellets(), *(pa6_moulding(name) for name in PA6_LAWS))


def pc_sheet() -> Curve:
    """Drying time against thickness."""
    pace = POLYMERS["PC"].motion.m2_per_s(125)

    def hours(thickness_mm: float, left: float) -> float:
        return _hours(lambda h: _sheet(pace, h, thickness_mm), 1 - left)

    # From what sheet makers find in stored sheet to the most that the library prints at.
    own = POLYMERS["PC"].limit.value / 0.2
    left = _best(
        lambda guess: sum(np.log(hours(t, guess) / h) ** 2 for t, h in PC_SHEET_H.items()), 0.002, 0.3
    )
    return Curve(
        "PC",
        "sheet at 125 °C: hours to dry by thickness",
        "maker's manual, azmanual.top/manuals/740079 p. 32",
        f"how dry is dry: {own:.0%} of the first 0.2 % is taken, the library's limit",
        f"dry enough is {left:.1%} of the first moisture",
        "mm",
        "h",
        tuple((t, told, hours(t, own), hours(t, left)) for t, told in PC_SHEET_H.items()),
    )


def pet_pellets() -> Curve:
    """Moisture of pellets through a run."""
    film = POLYMERS["PETG"].motion
    first, rest = PET_PELLETS[0][1], 0.002

    def left(minutes: float, temp_c: float) -> float:
        # Kempe's law for film; pellets of 2.5 mm.
        pace = 3.6e-13 / film.at_m2_per_s * film.m2_per_s(temp_c)
        return rest + (first - rest) * (1 - float(cylinder_share(pace * minutes * 60 / 1.25e-3**2)[0]))

    temp = _best(
        lambda guess: sum(np.log(left(m, guess) / told) ** 2 for m, told in PET_PELLETS[1:]), 90, 180
    )
    return Curve(
        "PET",
        "pellets: moisture through a run",
        "trade journal's chart, December 2014",
        "the temperature: 145 °C is taken, the middle of the moulders' 120–170 °C; the air leaves 0.002 %",
        f"the temperature is {temp:.0f} °C",
        "min",
        "%",
        tuple((float(m), told, left(m, 145), left(m, temp)) for m, told in PET_PELLETS[1:]),
    )


def psu_pellets() -> Curve:
    """Drying time against temperature."""
    motion = POLYMERS["PSU"].motion

    def hours(temp_c: float, left: float) -> float:
        pace = motion.m2_per_s(temp_c)
        return _hours(lambda h: float(cylinder_share(pace * h * 3600 / (PELLET_MM / 2e3) ** 2)[0]), 1 - left)

    own = 0.01 / 0.3
    left = _best(
        lambda guess: sum(np.log(hours(t, guess) / h) ** 2 for t, h in PSU_PELLETS_H.items()), 0.002, 0.3
    )
    return Curve(
        "PSU",
        "pellets: hours to dry by temperature",
        "maker's guide, yumpu.com/en/document/view/26716955 p. 4",
        f"the pellet and its first moisture: {PELLET_MM:g} mm, 0.3 % (a room at 50 %) to 0.01 %",
        f"dry enough is {left:.1%} of the first moisture",
        "°C",
        "h",
        tuple((t, told, hours(t, own), hours(t, left)) for t, told in PSU_PELLETS_H.items()),
    )


def pa6_moulding(name: str) -> Curve:
    """Water taken up by a moulding: a maker's law, its unit of time the likeliest of three."""
    factor, power = PA6_LAWS[name]
    polymer = POLYMERS["PA6"]
    temp_c = 100 if "100 °C" in name else 20
    full = polymer.isotherm.moisture_pct(0.6 if "60 %" in name else 1.0, temp_c)
    times = [t for t in TIMES if factor * t**power <= full / 2]

    def taken(hours: float, faster: float = 1.0) -> float:
        pace = polymer.motion.m2_per_s(temp_c) * faster
        if name.startswith("disc"):
            side = float(cylinder_share(pace * hours * 3600 / 30e-3**2)[0])
            return full * (1 - (1 - _sheet(pace, hours, 3.0)) * (1 - side))
        left = np.prod([1 - _sheet(pace, hours, mm) for mm in (12.7, 6.35, 127.0)])
        return full * float(1 - left)

    def bad(unit: str, faster: float = 1.0) -> float:
        return sum(np.log(taken(t * UNITS_H[unit], faster) / (factor * t**power)) ** 2 for t in times)

    unit = min(UNITS_H, key=bad)
    faster = float(np.exp(_best(lambda log: bad(unit, float(np.exp(log))), np.log(0.05), np.log(20.0))))
    return Curve(
        "PA6",
        name,
        "maker's page, plastics.toray/ja/technical/amilan/tec_003.html, table 3",
        f"the unit of time: {unit}, the likeliest of hours, days and weeks",
        f"the diffusivity is {faster:.2g} times the library's",
        unit,
        "%",
        tuple(
            (float(t), factor * t**power, taken(t * UNITS_H[unit]), taken(t * UNITS_H[unit], faster))
            for t in times
        ),
    )


def _sheet(pace: float, hours: float, thickness_mm: float) -> float:
    return float(sheet_share(pace * hours * 3600 / (thickness_mm / 2e3) ** 2)[0])


def _hours(share: Callable[[float], float], wanted: float) -> float:
    """When a share is reached, by halving: it rises evenly with time."""
    low, high = 0.0, 1000.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if share(middle) < wanted else (low, middle)
    return high


def _off(pairs: list[tuple[float, float]]) -> float:
    logs = [np.log(model / told) for told, model in pairs]
    return float(np.exp(np.sqrt(np.mean(np.square(logs)))) - 1)


def _best(badness: Callable[[float], float], low: float, high: float) -> float:
    """The least of a function with one valley, by the golden section."""
    share = (5**0.5 - 1) / 2
    for _ in range(60):
        first, second = high - share * (high - low), low + share * (high - low)
        low, high = (low, second) if badness(first) < badness(second) else (first, high)
    return (low + high) / 2
