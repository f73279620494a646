"""The demo shop's machines: eighteen printers named after the founder's aunts, dryers and ovens.

The hotter the machine, the sterner the aunt.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from demo_fleet.calendar import local_instant, working_day
from demo_fleet.materials import BY_ID
from scheduler.model import Downtime, Dryer, Head, Mounted, Nozzle, Oven, Printer


@dataclass(frozen=True, slots=True)
class Chamber:
    """One thermal class: hottest plate and hot end, chamber figures (°C, minutes)."""

    bed_max_c: float
    head_max_c: float
    chamber_max_c: float | None
    chamber_reach_c: float | None
    heat_tau_min: float
    cool_tau_min: float
    bed_heat_min: int
    bed_cool_min: int


OPEN = Chamber(90, 270, None, None, 10, 15, 8, 10)
WARM = Chamber(120, 320, 90, 118, 32, 48, 14, 15)
HOT = Chamber(165, 420, 140, 182, 46, 70, 22, 20)
VERY_HOT = Chamber(175, 460, 230, 285, 60, 85, 30, 25)

#: Nozzle kinds by letter: plain brass, hardened steel, corrosion-proof alloy, hardened and corrosion-proof.
_NOZZLE_KINDS: dict[str, tuple[bool, bool, float]] = {
    "b": (False, False, 300),
    "h": (True, False, 470),
    "k": (False, True, 470),
    "x": (True, True, 470),
}


def nozzles(words: str) -> tuple[Nozzle, ...]:
    """Nozzles from words such as ``0.4b 0.6h``: bore in mm and the letter of the kind."""
    found = []
    for word in words.split():
        hardened, proof, max_c = _NOZZLE_KINDS[word[-1]]
        found.append(Nozzle(word, float(word[:-1]), hardened, proof, max_c))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Aunt:
    """One printer's own figures."""

    name: str
    chamber: Chamber
    volume_mm: tuple[float, float, float]
    surfaces: str
    heads: tuple[str, ...]
    last: tuple[str | None, ...]
    speed: float = 1.0
    qualified: str = ""
    dry_feed: str = ""
    extraction: bool = True
    unattended: bool = True
    chamber_max_c: float | None = None


_AUNTS: tuple[_Aunt, ...] = (
    _Aunt("agathe", OPEN, (220, 220, 250), "textured glass", ("0.4b 0.6b",), ("PLA",), extraction=False),
    _Aunt("berta", OPEN, (220, 220, 250), "textured glass", ("0.4b 0.6b",), ("PLA",), extraction=False),
    _Aunt("clothilde", OPEN, (250, 210, 210), "textured", ("0.4b 0.6h",), ("PETG",), extraction=False, speed=0.9),
    _Aunt("dorle", OPEN, (250, 210, 210), "textured", ("0.4b 0.6h",), ("PETG",), extraction=False, speed=0.9, dry_feed="left"),
    _Aunt("emmi", OPEN, (300, 300, 340), "textured glass", ("0.4b 0.6b 0.8b",), ("TPU",), qualified="medical", dry_feed="left"),
    _Aunt(
        "fanny", OPEN, (600, 600, 500), "textured", ("0.6b 0.8h",), ("PETG",), extraction=False, unattended=False,
        speed=1.15,
    ),
    _Aunt("gundula", WARM, (250, 250, 250), "textured sheet", ("0.4b 0.6h",), ("ASA",), dry_feed="left"),
    _Aunt("hedwig", WARM, (300, 300, 300), "textured sheet laminate", ("0.4b 0.6h",), ("PA12-CF",), dry_feed="left", qualified="rail"),
    _Aunt("ilse", WARM, (300, 300, 300), "sheet laminate", ("0.4h 0.6h",), ("PC",), dry_feed="left", qualified="rail"),
    _Aunt("jette", WARM, (320, 300, 300), "textured laminate sheet", ("0.4b 0.6h", "0.4b"), ("PA12-CF", "SUP"), dry_feed="left right"),
    _Aunt("kunigunde", WARM, (500, 420, 420), "textured sheet laminate", ("0.6h 0.8h",), ("ASA",), unattended=False, speed=1.1, chamber_max_c=80),
    _Aunt("leopoldine", HOT, (280, 280, 280), "sheet laminate", ("0.4k 0.6x",), ("PPS-CF",), dry_feed="left", qualified="pressure"),
    _Aunt("mathilde", HOT, (300, 260, 260), "sheet", ("0.4k 0.6x", "0.4k"), ("PEKK", None), dry_feed="left right", qualified="aviation"),
    _Aunt("notburga", HOT, (330, 330, 300), "sheet laminate", ("0.4h 0.6x",), (None,), dry_feed="left", unattended=False, chamber_max_c=120),
    _Aunt("ottokara", HOT, (280, 280, 280), "sheet", ("0.4k 0.6x",), ("PPSU",), qualified="pressure medical", speed=1.05),
    _Aunt("philippine", VERY_HOT, (220, 220, 200), "sheet", ("0.4k 0.6x",), ("PEEK",), dry_feed="left", qualified="aviation medical"),
    _Aunt("quirina", VERY_HOT, (260, 240, 220), "sheet", ("0.4k 0.6x", "0.4k 0.6x"), ("PEI", "PPSU"), dry_feed="left right", qualified="aviation"),
    _Aunt("rosamunde", VERY_HOT, (360, 320, 300), "sheet", ("0.4k 0.6x 0.8x",), ("PEEK-CF",), dry_feed="left", qualified="aviation pressure", speed=1.1),
)  # fmt: skip


def _head(aunt: _Aunt, index: int) -> Head:
    name = ("left", "right")[index]
    material = aunt.last[index]
    ready = nozzles(aunt.heads[index])
    # Filled materials went through the hardened nozzle, which is the last that lies ready.
    last = ready[-1] if material is not None and BY_ID[material].abrasive else ready[0]
    mounted = Mounted(None, material, last.id)
    return Head(name, aunt.chamber.head_max_c, 1.75, name in aunt.dry_feed.split(), mounted, ready)


def printers(zone: ZoneInfo, today: date, ambient_c: float) -> tuple[Printer, ...]:
    """The eighteen printers, idle and cold, with their planned downtime."""
    start = local_instant(zone, today, 6)

    def stop(ahead: int, hours: tuple[int, int], reason: str) -> Downtime:
        day = working_day(today, ahead)
        return Downtime(local_instant(zone, day, hours[0]), local_instant(zone, day, hours[1]), reason)

    downtime = {
        "clothilde": (stop(1, (8, 12), "belt and bearing change"),),
        "hedwig": (stop(3, (6, 14), "yearly electrical inspection"),),
        "notburga": (stop(0, (6, 14), "door seal being replaced"),),
        "rosamunde": (stop(4, (7, 11), "thermocouple check"),),
    }
    free_later = {"berta": (today, 9), "gundula": (today, 8), "ottokara": (today, 7)}
    return tuple(
        Printer(
            id=aunt.name,
            bed_max_c=aunt.chamber.bed_max_c,
            chamber_max_c=aunt.chamber_max_c or aunt.chamber.chamber_max_c,
            chamber_reach_c=aunt.chamber.chamber_reach_c,
            heat_tau_min=aunt.chamber.heat_tau_min,
            cool_tau_min=aunt.chamber.cool_tau_min,
            bed_heat_min=aunt.chamber.bed_heat_min,
            bed_cool_min=aunt.chamber.bed_cool_min,
            volume_mm=aunt.volume_mm,
            surfaces=tuple(aunt.surfaces.split()),
            extraction=aunt.extraction,
            unattended=aunt.unattended,
            speed_factor=aunt.speed,
            qualified=tuple(aunt.qualified.split()),
            chamber_now_c=ambient_c,
            free_at=_free_at(zone, free_later.get(aunt.name), start),
            downtime=downtime.get(aunt.name, ()),
            heads=tuple(_head(aunt, index) for index in range(len(aunt.heads))),
        )
        for aunt in _AUNTS
    )


def _free_at(zone: ZoneInfo, later: tuple[date, int] | None, start: datetime) -> datetime:
    return start if later is None else local_instant(zone, *later)


def dryers(zone: ZoneInfo, today: date) -> tuple[Dryer, ...]:
    """Two cabinets that always stand warm, two batch dryers and a vacuum dryer."""
    day = working_day(today, 2)
    service = Downtime(local_instant(zone, day, 10), local_instant(zone, day, 12), "fan bearing")
    return (
        Dryer("pantry", "rolling", 65, 65, False, 8, 0, ()),
        Dryer("larder", "rolling", 80, 80, False, 6, 0, ()),
        Dryer("crumb", "batch", 125, None, False, 6, 25, (service,)),
        Dryer("old-oven", "batch", 160, None, False, 4, 40, ()),
        Dryer("bell-jar", "batch", 130, None, True, 3, 30, ()),
    )


def ovens(zone: ZoneInfo, today: date) -> tuple[Oven, ...]:
    """The small kiln, and the old bread oven that dries spools when it anneals nothing."""
    day = working_day(today, 6)
    survey = Downtime(local_instant(zone, day, 6), local_instant(zone, day, 12), "temperature survey")
    return (Oven("kiln", 250, 4, (survey,)), Oven("old-oven", 210, 3, ()))
