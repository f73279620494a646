"""The demo shop's forty open orders, written down as a front desk would: who, what, how many, by when.

Customers, parts and people are made up. Hours and grams are those of one plate.
"""

from __future__ import annotations

from dataclasses import dataclass

Size = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Line:
    """``plates`` plates of one part.

    Parameters
    ----------
    hours, grams : float
        Print time and draw of one plate.
    support : tuple of str and float, or None
        Material and grams of a second feed.
    one_lot : bool
        True if all plates of the line come from the lot of the first.
    """

    part: str
    material: str
    plates: int
    quantity: int
    hours: float
    grams: float
    size_mm: Size
    nozzle_mm: tuple[float, ...] = (0.4,)
    certs: tuple[str, ...] = ()
    qualified: tuple[str, ...] = ()
    anneal: bool = False
    one_lot: bool = False
    support: tuple[str, float] | None = None
    finish_min: int = 30


@dataclass(frozen=True, slots=True)
class Order:
    """One order: customer, due as (working days ahead, hour) or open-ended, and its lines."""

    id: str
    customer: str
    note: str
    due: tuple[int, int] | None
    lines: tuple[Line, ...]
    weight: float = 1.0
    release: tuple[int, int] | None = None
    confidential: bool = False


STD = (0.4,)
ANY = (0.4, 0.6)
WIDE = (0.6, 0.8)
FIBRE = (0.6,)

ORDERS: tuple[Order, ...] = (
    Order("2201", "Hinterquell Pumpworks", "Impellers for the spring overhaul; pump stands still until they come.", (1, 12), (
        Line("impeller, 6 vanes", "PPS-CF", 3, 2, 16.0, 310, (140, 140, 60), FIBRE, qualified=("pressure",), anneal=True, one_lot=True),
        Line("seal carrier", "PPS-CF", 1, 6, 8.5, 160, (120, 120, 30), FIBRE),
    ), 3),
    Order("2202", "Glimmbach Avionics", "Duct brackets, certificate with each lot.", (3, 16), (
        Line("duct bracket L", "PEI", 2, 8, 22.0, 300, (180, 150, 70), STD, certs=("lot-report",), qualified=("aviation",), one_lot=True),
        Line("duct bracket R", "PEI", 1, 8, 22.0, 300, (180, 150, 70), STD, certs=("lot-report",), qualified=("aviation",)),
    ), 3, confidential=True),
    Order("2203", "Dr. Fennel Orthotics", "The fitting cannot be moved; ring if it slips.", (1, 16), (
        Line("ankle shell, left", "PA12-CF", 1, 1, 18.5, 260, (240, 130, 200), FIBRE),
        Line("ankle shell, right", "PA12-CF", 1, 1, 18.5, 260, (240, 130, 200), FIBRE),
    ), 4),
    Order("2204", "Rathsam Observatory", "Light baffles, matt black.", (3, 12), (
        Line("baffle ring", "ASA", 4, 1, 13.5, 280, (230, 230, 90), ANY),
    ), release=(2, 7)),
    Order("2205", "Zwölfender Cycles", "Battery cradles, second batch.", (2, 16), (
        Line("battery cradle", "PA6-GF", 4, 2, 18.0, 340, (260, 110, 90), FIBRE, one_lot=True),
    ), 2),
    Order("2206", "Obermurchlingen Open-Air Baths", "Locker number plates 1 to 240.", (4, 12), (
        Line("locker plates", "PETG", 6, 40, 11.0, 240, (200, 200, 12), ANY),
    ), 0.5, release=(3, 7)),
    Order("2207", "Mostbirne Cider Works", "Bottle guides; cleaned hot every evening.", (2, 10), (
        Line("bottle guide", "PPSU", 2, 2, 24.0, 380, (230, 160, 90), STD, certs=("food",), one_lot=True),
    ), 2),
    Order("2208", "Murchtal Railway Friends", "Window crank knobs as on the 1928 drawing.", (5, 16), (
        Line("crank knob", "PC", 2, 10, 12.0, 190, (160, 120, 40), STD, qualified=("rail",)),
    ), 0.5, release=(4, 7)),
    Order("2209", "Schwindelfrei Lifts", "Guide shoe liners, acceptance test on site.", (1, 16), (
        Line("guide shoe liner", "PA6-GF", 2, 6, 13.5, 290, (180, 150, 40), FIBRE, anneal=True),
        Line("cable comb", "PC", 1, 12, 10.0, 150, (150, 100, 30), STD),
    ), 2),
    Order("2210", "Quellwind Turbines", "Sensor housings for six masts.", (3, 12), (
        Line("sensor housing", "ASA", 2, 3, 15.5, 310, (180, 160, 110), ANY),
        Line("cable gland", "ASA", 1, 24, 7.0, 110, (140, 140, 30), STD),
    ), release=(2, 7)),
    Order("2211", "Pfeffersack Warehouse Robots", "Bumpers. They always come back for more.", (1, 12), (
        Line("bumper, corner", "TPU", 4, 2, 13.0, 220, (190, 120, 80), ANY),
    )),
    Order("2212", "Kühnast Laboratory Supply", "Heated manifold, two colours of dye will be pressed through it.", (3, 16), (
        Line("manifold, soluble cores", "PA12-CF", 2, 1, 26, 360, (240, 200, 110), FIBRE, support=("SUP", 140), finish_min=240),
    ), 1.5),
    Order("2213", "Theatre Workshop of Murchlingen", "Chandelier arms. First night is close.", (4, 10), (
        Line("chandelier arm", "PLA", 9, 1, 14.5, 270, (200, 120, 230), STD),
        Line("candle cup", "PLA", 1, 40, 8.5, 130, (200, 200, 40), STD),
    )),
    Order("2214", "Sondermann Submersibles", "Bulkhead penetrators; pressure test at 60 bar in the customer's tank.", (3, 10), (
        Line("penetrator body", "PEEK", 2, 2, 26, 420, (150, 150, 140), STD, certs=("lot-report",), qualified=("pressure",), anneal=True, one_lot=True),
    ), 3, confidential=True),
    Order("2215", "Bienenfleiss Apiaries", "Hive entrance wedges.", (5, 12), (
        Line("entrance wedge", "PETG", 4, 18, 9.5, 210, (200, 190, 30), ANY),
    ), 0.5, release=(4, 7)),
    Order("2216", "Glimmbach Avionics", "Latch housings, flight test article.", (2, 12), (
        Line("latch housing", "PEKK", 2, 2, 20.5, 290, (160, 120, 110), STD, certs=("lot-report",), qualified=("aviation",), anneal=True, one_lot=True),
    ), 4, confidential=True),
    Order("2217", "Dr. Fennel Orthotics", "Surgical drill guides, steam cleaned.", (1, 10), (
        Line("drill guide set", "PPSU", 1, 4, 15.5, 170, (120, 100, 60), STD, certs=("iso10993",), qualified=("medical",)),
    ), 5),
    Order("2218", "Hinterquell Pumpworks", "Wear rings for the hot condensate line.", (4, 16), (
        Line("wear ring", "PEEK-CF", 3, 4, 17.0, 260, (180, 180, 40), FIBRE, anneal=True),
    ), 2),
    Order("2219", "Obermurchlingen Volunteer Fire Brigade", "Hose coupling keys. No charge for the brigade.", (1, 16), (
        Line("coupling key", "PA12-CF", 2, 3, 13.0, 210, (220, 90, 40), FIBRE),
    )),
    Order("2220", "Zwölfender Cycles", "Dropout jigs.", (3, 10), (
        Line("dropout jig", "PC", 3, 1, 18.5, 330, (260, 160, 90), ANY),
    )),
    Order("2221", "Lindwurm Scenic Railways", "Lamp covers along the dragon's back.", (3, 12), (
        Line("lamp cover", "PETG", 5, 2, 15.5, 300, (200, 180, 150), STD),
    )),
    Order("2222", "Kühnast Laboratory Supply", "Sample carousels for the autoclave.", (3, 16), (
        Line("sample carousel", "PPSU", 2, 1, 25.5, 350, (220, 220, 70), STD),
    ), 1.5),
    Order("2223", "Grauwacke Quarries", "Screen tensioners; they wear through one a week.", (5, 12), (
        Line("screen tensioner", "TPU", 3, 6, 10.0, 260, (180, 150, 50), ANY),
    ), release=(4, 7)),
    Order("2224", "Quellwind Turbines", "De-icing duct, hot side.", (5, 16), (
        Line("duct elbow", "PEI", 2, 1, 26, 430, (200, 180, 170), STD),
    ), 1.5, release=(4, 7)),
    Order("2225", "Schwindelfrei Lifts", "Door rollers, rush: lift in the hospital is out of order.", (0, 20), (
        Line("door roller", "PA6-GF", 1, 8, 10.0, 180, (150, 120, 40), FIBRE),
    ), 5),
    Order("2226", "Sourdough Print House", "Drying trays for our own pantry.", None, (
        Line("drying tray", "ASA", 2, 1, 20.5, 420, (240, 240, 60), WIDE),
    )),
    Order("2227", "Rathsam Observatory", "Filter wheel, carbon filled, must not warp.", (4, 12), (
        Line("filter wheel", "PA12-CF", 1, 1, 22.0, 330, (240, 240, 40), FIBRE),
        Line("filter clips", "PA12-CF", 1, 30, 9.5, 120, (150, 150, 20), FIBRE),
    ), release=(3, 7)),
    Order("2228", "Nebelhorn Signal Works", "Horn throats with break-away support.", (4, 16), (
        Line("horn throat", "PEI", 1, 1, 26, 390, (210, 200, 180), STD, support=("PPSU", 90), finish_min=180),
    ), 1.5, release=(3, 7)),
    Order("2229", "Pfeffersack Warehouse Robots", "Gripper fingers, soft.", (2, 12), (
        Line("gripper finger", "TPU", 2, 8, 8.5, 150, (150, 150, 60), STD),
        Line("gripper palm", "PA12-CF", 2, 2, 15.5, 240, (180, 140, 80), FIBRE),
    )),
    Order("2230", "Murchtal Railway Friends", "Signal lamp bezels.", (5, 16), (
        Line("lamp bezel", "PC", 3, 2, 14.5, 230, (170, 170, 60), STD, anneal=True),
    ), release=(4, 7)),
    Order("2231", "Sondermann Submersibles", "Thruster shrouds.", (5, 10), (
        Line("thruster shroud", "PEEK-CF", 2, 1, 25.5, 400, (210, 210, 90), FIBRE),
    ), 2, release=(3, 8)),
    Order("2232", "Bitterwasser Chemical Plant", "Dosing valves; the old ones are weeping.", (2, 16), (
        Line("dosing valve body", "PPS-CF", 3, 3, 13.5, 230, (150, 120, 70), FIBRE, qualified=("pressure",), anneal=True),
    ), 2),
    Order("2233", "Apfelstrudel & Daughters Bakery Tools", "Dough dividers, first article.", (1, 12), (
        Line("dough divider", "PETG", 2, 1, 17.0, 330, (200, 200, 120), STD),
    )),
    Order("2234", "Glimmbach Avionics", "Seat actuator covers.", (5, 16), (
        Line("actuator cover", "PEKK", 3, 1, 18.5, 270, (200, 160, 90), STD, qualified=("aviation",)),
    ), 2, confidential=True, release=(3, 8)),
    Order("2235", "Tannenzapfen Toy Museum", "Carousel horses, large, no visible seam.", (5, 12), (
        Line("carousel horse, half", "PETG", 2, 1, 12.5, 820, (480, 300, 380), WIDE),
    ), release=(4, 7)),
    Order("2236", "Krähenfuss Drone Survey", "Arms and skids after the hard landing.", (1, 12), (
        Line("drone arm", "PA12-CF", 2, 4, 13.5, 200, (230, 80, 30), FIBRE),
        Line("skid", "TPU", 1, 8, 7.5, 120, (160, 140, 40), STD),
    ), 1.5),
    Order("2237", "Bitterwasser Chemical Plant", "One-piece scrubber hood, as drawn.", (3, 16), (
        Line("scrubber hood", "PPSU", 1, 1, 29.0, 880, (480, 400, 250), STD),
    ), release=(2, 7)),
    Order("2238", "Glimmbach Avionics", "Cabin clips with flame class on the lot's paper.", (3, 12), (
        Line("cabin clip", "PEKK", 1, 40, 12.0, 140, (150, 150, 30), STD, certs=("flame-class",), qualified=("aviation",)),
    ), 2, confidential=True, release=(2, 7)),
    Order("2239", "Kühnast Laboratory Supply", "Cooling plate with soluble channels.", (4, 10), (
        Line("cooling plate", "PEI", 1, 1, 26, 350, (200, 180, 40), STD, support=("SUP", 160)),
    ), release=(3, 7)),
    Order("2240", "Dr. Fennel Orthotics", "Autoclave trays from the rest of the tested lot.", None, (
        Line("tray insert", "PPSU", 1, 2, 13.5, 420, (200, 150, 40), STD, certs=("iso10993",)),
    )),
)  # fmt: skip
