"""Figures of water in the polymers that a shop prints, each with its range, its sureness and its source.

A range is what other sources say, or how far an estimate may be out. Sureness: ``S`` measured or stated
in the sources named, ``P`` common to open guides, ``E`` estimated from a neighbour. The numbers are
those of :data:`SOURCES`. No study was found that measures above 100 °C: there the law is carried on, and
a shop's own weighings confirm or correct it.
"""

from __future__ import annotations

from scheduler.physics.moisture.polymer import Known, Polymer, Sure

SOURCES: dict[int, str] = {
    1: "Kempe, Sol. Energy Mater. Sol. Cells 90 (2006) 2720: polyester film, 23–85 °C",
    2: "Kempe's measurements of films in an open library of a US national laboratory (photovoltaic degradation"
    " tools, water permeation): polycarbonate, a polyamide laminate",
    3: "Kempe, Dameron, Reese, Prog. Photovolt. (2013), doi 10.1002/pip.2374: thermoplastic polyurethane film",
    4: "Humid aging of polyetherimide I. J. Appl. Polym. Sci. 77 (2000) 1439: 1e-12 m²/s at 20 °C, 16e-12 at"
    " 100 °C, 1.39 to 1.50 % (the abstract's own 43 kJ/mol fits neither value; the two values give 31.5)",
    5: "Water transport in poly(lactic acid), J. Environ. Polym. Degrad. (1997): 0.2–1.0e-10 m²/s at 50 °C",
    6: "Cairncross et al., Appl. Biochem. Biotechnol. 131 (2006) 774: sorption in polylactide",
    7: "The natural moisture of ABS filament. Materials 16 (2023) 938: 0.05 % for each 10 % of humidity",
    8: "A resin maker's open page on nylon: 3.5 % for polyamide 6 at 23 °C and 60 %; others 8–10 % saturated",
    9: "Open makers' data for polyamide 12: 1.4 % saturated",
    10: "Arhant et al., Polym. Degrad. Stab. (2016): polyamide 6 is not Fickian above its glass transition",
    11: "Gaudichet-Maurin et al., J. Appl. Polym. Sci. (2008): Henry's law holds for polysulfones; makers'"
    " data 0.3 % at 50 %, 0.8 % saturated (PSU), 0.22–0.30 % in 24 h; 1.1 % (PPSU)",
    12: "Water and brine in PEEK (abstract): Fickian, 0.5 % at 75 °C",
    13: "Moulders' and filament makers' open tables of the most water to process at",
    14: "A neighbour's value, or the middle of what similar polymers show; no study found",
    15: "ISO 62 and ASTM D570 figures of open data sheets, 3.2 mm in water at 23 °C for 24 h and saturated",
    16: "Krongauz et al., J. Therm. Anal. Calorim. 125 (2016) 231: 43.5 kJ/mol in MABS, 30–75 °C",
}


def _known(value: float, least: float, most: float, sure: Sure, *sources: int) -> Known:
    return Known(value, least, most, sure, sources)


_HENRY = _known(1.0, 0.9, 1.2, "E", 14)

TABLE: tuple[Polymer, ...] = (
    Polymer(
        "PLA", _known(1.1e-11, 5e-12, 2.5e-11, "S", 5), _known(40, 25, 60, "E", 14), _known(0.9, 0.6, 1.1, "S", 6),
        _HENRY, 0.0, _known(0.025, 0.01, 0.1, "P", 13), 1240, 60, True,
    ),
    Polymer(
        "PETG", _known(6e-13, 3.6e-13, 2e-12, "E", 1, 14), _known(47.3, 40, 50, "S", 1),
        _known(0.55, 0.4, 0.8, "S", 1), _HENRY, 7.3, _known(0.02, 0.02, 0.06, "P", 13), 1270, 78, True,
    ),
    Polymer(
        "TPU", _known(2.4e-11, 7e-12, 2.4e-11, "S", 3), _known(46.7, 44, 51, "S", 3), _known(1.2, 0.8, 1.5, "S", 3),
        _HENRY, 15.5, _known(0.02, 0.02, 0.07, "P", 13), 1120, None, True,
    ),
    Polymer(
        "ASA", _known(2.5e-12, 8e-13, 4e-12, "E", 15), _known(43.5, 35, 46, "E", 16), _known(0.75, 0.5, 0.9, "E", 7, 15),
        _HENRY, 5.0, _known(0.1, 0.02, 0.1, "P", 13), 1070, 100,
    ),
    Polymer(
        "PC", _known(4.5e-12, 3e-12, 6e-12, "S", 2), _known(31.8, 28, 36, "S", 2), _known(0.38, 0.35, 0.43, "S", 2, 15),
        _HENRY, 5.0, _known(0.02, 0.01, 0.05, "S", 13), 1200, 145, True,
    ),
    Polymer(
        "PA12", _known(3.7e-13, 2e-13, 1e-12, "E", 2), _known(61.5, 50, 65, "S", 2), _known(1.4, 1.2, 1.7, "S", 9),
        _known(1.1, 1.0, 1.4, "E", 14), 0.0, _known(0.1, 0.05, 0.1, "P", 13), 1010, 50,
    ),
    Polymer(
        "PA6", _known(3.7e-13, 1e-13, 1.2e-12, "E", 2, 10, 15), _known(58, 50, 65, "E", 2, 10), _known(9.0, 8.0, 10.0, "S", 8),
        _known(1.75, 1.4, 2.0, "S", 8), 0.0, _known(0.2, 0.1, 0.5, "P", 13), 1130, 55,
    ),
    Polymer(
        "PPS", _known(1e-12, 3e-13, 3e-12, "E", 14), _known(38, 30, 45, "E", 14), _known(0.05, 0.02, 0.06, "P", 15),
        _HENRY, 0.0, _known(0.01, 0.01, 0.02, "P", 13), 1350, 88,
    ),
    Polymer(
        "PPSU", _known(3e-12, 1.5e-12, 6e-12, "E", 11, 15), _known(31.5, 28, 43, "E", 4), _known(1.1, 0.8, 1.1, "S", 11),
        _known(1.0, 1.0, 1.1, "S", 11), 0.9, _known(0.05, 0.01, 0.05, "S", 13), 1290, 220,
    ),
    Polymer(
        "PSU", _known(3e-12, 1.5e-12, 6e-12, "E", 11, 15), _known(31.5, 28, 43, "E", 4), _known(0.8, 0.7, 0.85, "S", 11),
        _known(1.0, 1.0, 1.1, "S", 11), 0.9, _known(0.05, 0.01, 0.05, "S", 13), 1240, 190,
    ),
    Polymer(
        "PEI", _known(1.13e-12, 9e-13, 2e-12, "S", 4), _known(31.5, 30, 43, "S", 4), _known(1.39, 1.25, 1.5, "S", 4),
        _HENRY, 0.87, _known(0.02, 0.01, 0.04, "P", 13), 1270, 215,
    ),
    Polymer(
        "PEKK", _known(1e-12, 3e-13, 3e-12, "E", 14), _known(40, 32, 45, "E", 14), _known(0.6, 0.4, 0.8, "E", 12, 14),
        _HENRY, 0.0, _known(0.02, 0.01, 0.04, "P", 13), 1290, 160,
    ),
    Polymer(
        "PEEK", _known(1e-12, 3e-13, 3e-12, "E", 14), _known(40, 32, 45, "E", 14), _known(0.5, 0.4, 0.55, "S", 12),
        _HENRY, 0.0, _known(0.02, 0.01, 0.04, "P", 13), 1300, 143,
    ),
    Polymer(
        "soluble support", _known(3e-12, 5e-13, 2e-11, "E", 14), _known(45, 35, 60, "E", 14),
        _known(14, 6, 25, "E", 14), _known(1.8, 1.3, 2.5, "E", 14), 0.0, _known(0.5, 0.2, 1.0, "E", 14), 1250, 60,
    ),
)  # fmt: skip
