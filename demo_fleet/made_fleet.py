"""Made-up machines: variants of the four thermal classes, taken in turn, with small differences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from demo_fleet.calendar import local_instant
from demo_fleet.dice import Dice
from demo_fleet.machines import HOT, OPEN, VERY_HOT, WARM, Chamber, nozzles
from demo_fleet.sizes import CLASS_SHARES, Size
from scheduler.model import Downtime, Dryer, Head, Mounted, Oven, Printer


@dataclass(frozen=True, slots=True)
class Variant:
    """One model of machine of a thermal class; ``heads`` are the nozzles that lie ready for each."""

    chamber: Chamber
    volume_mm: tuple[float, float, float]
    surfaces: tuple[str, ...]
    heads: tuple[str, ...]
    dry_feed: bool = False
    extraction: bool = True
    unattended: bool = True
    filament_mm: float = 1.75
    qualified: tuple[str, ...] = ()


_WARM_PLATES = ("textured", "sheet", "laminate")
_HOT_PLATES = ("sheet", "laminate")

#: The first variants of each class carry what every size must show, down to the smallest fleet.
VARIANTS: Mapping[str, Sequence[Variant]] = {
    "open": (
        Variant(OPEN, (220, 220, 250), ("textured", "glass"), ("0.4b 0.6b",), extraction=False),
        Variant(OPEN, (500, 500, 500), ("textured",), ("0.6b 0.8h",), extraction=False, filament_mm=2.85),
        Variant(OPEN, (250, 210, 210), ("textured",), ("0.4b 0.6h",), unattended=False, dry_feed=True),
        Variant(OPEN, (300, 300, 300), ("textured", "glass"), ("0.4b 0.6b",), qualified=("medical",)),
    ),
    "warm": (
        Variant(WARM, (300, 300, 300), _WARM_PLATES, ("0.4b 0.6h", "0.4b"), dry_feed=True, qualified=("rail",)),
        Variant(WARM, (250, 250, 250), _WARM_PLATES, ("0.4b 0.6h",), qualified=("medical", "rail")),
        Variant(WARM, (400, 400, 400), _WARM_PLATES, ("0.6h 0.8h",), dry_feed=True, unattended=False),
        Variant(WARM, (300, 300, 300), _WARM_PLATES, ("0.4h 0.6h",), dry_feed=True),
    ),
    "hot": (
        Variant(HOT, (280, 280, 280), _HOT_PLATES, ("0.4k 0.6x",), dry_feed=True, qualified=("pressure",)),
        Variant(HOT, (300, 260, 260), _HOT_PLATES, ("0.4k 0.6x", "0.4k"), dry_feed=True, qualified=("aviation",)),
        Variant(HOT, (330, 330, 300), _HOT_PLATES, ("0.4h 0.6x",), dry_feed=True, unattended=False),
        Variant(HOT, (280, 280, 280), _HOT_PLATES, ("0.4k 0.6x",), qualified=("pressure", "medical")),
    ),
    "very-hot": (
        Variant(
            VERY_HOT, (260, 240, 220), _HOT_PLATES, ("0.4k 0.6x", "0.4k 0.6x"), dry_feed=True,
            qualified=("aviation", "medical"),
        ),
        Variant(VERY_HOT, (220, 220, 200), _HOT_PLATES, ("0.4k 0.6x",), dry_feed=True, qualified=("aviation",)),
        Variant(VERY_HOT, (360, 320, 300), _HOT_PLATES, ("0.4k 0.6x",), dry_feed=True, qualified=("pressure",)),
    ),
}  # fmt: skip

#: Kinds of dryer by the name that the table of sizes counts.
DRYER_KINDS: Mapping[str, Dryer] = {
    "rolling-65": Dryer("", "rolling", 65, 65, False, 8, 0, ()),
    "rolling-80": Dryer("", "rolling", 80, 80, False, 8, 0, ()),
    "batch-125": Dryer("", "batch", 125, None, False, 6, 25, ()),
    "batch-160": Dryer("", "batch", 160, None, False, 4, 40, ()),
    "vacuum": Dryer("", "batch", 130, None, True, 3, 30, ()),
}

#: Share of machines with a planned stop.
DOWNTIME_SHARE = 0.15
REASONS = ("belt change", "thermocouple check", "door seal", "fan bearing", "electrical inspection")


def class_counts(total: int) -> dict[str, int]:
    """Printers of each class: shares of ``total`` rounded so that they add up."""
    exact = {name: share * total for name, share in CLASS_SHARES.items()}
    counts = {name: int(value) for name, value in exact.items()}
    by_rest = sorted(exact, key=lambda name: counts[name] - exact[name])
    for name in by_rest[: total - sum(counts.values())]:
        counts[name] += 1
    return counts


def _stop(zone: ZoneInfo, first: date, dice: Dice) -> Downtime:
    day = first + timedelta(days=dice.whole(1, 8))
    hour = dice.whole(6, 14)
    start = local_instant(zone, day, hour)
    return Downtime(start, start + timedelta(hours=dice.whole(2, 8)), dice.pick(REASONS))


def _printer(
    name: str, variant: Variant, start: datetime, ambient_c: float, downtime: tuple[Downtime, ...], dice: Dice
) -> Printer:
    chamber = variant.chamber
    pace = dice.pick((0.9, 1.0, 1.1))
    inertia = dice.pick((0.9, 1.0, 1.15))
    heads = tuple(
        Head(
            ("left", "right")[index],
            chamber.head_max_c,
            variant.filament_mm,
            variant.dry_feed,
            Mounted(None, None, nozzles(words)[0].id),
            nozzles(words),
        )
        for index, words in enumerate(variant.heads)
    )
    return Printer(
        id=name,
        bed_max_c=chamber.bed_max_c,
        chamber_max_c=chamber.chamber_max_c,
        chamber_reach_c=chamber.chamber_reach_c,
        heat_tau_min=round(chamber.heat_tau_min * inertia, 1),
        cool_tau_min=round(chamber.cool_tau_min * inertia, 1),
        bed_heat_min=chamber.bed_heat_min,
        bed_cool_min=chamber.bed_cool_min,
        volume_mm=variant.volume_mm,
        surfaces=variant.surfaces,
        extraction=variant.extraction,
        unattended=variant.unattended,
        speed_factor=pace,
        qualified=variant.qualified,
        chamber_now_c=ambient_c,
        free_at=start + timedelta(minutes=dice.whole(30, 240)) if dice.chance(0.15) else start,
        downtime=downtime,
        heads=heads,
    )


def printers(
    size: Size, zone: ZoneInfo, first: date, ambient_c: float, dice: Dice
) -> dict[str, list[Printer]]:
    """The printers of each thermal class, idle and cold."""
    start = local_instant(zone, first, 6)
    width = len(str(size.printers))
    fleet: dict[str, list[Printer]] = {}
    for name, count in class_counts(size.printers).items():
        variants = VARIANTS[name]
        fleet[name] = []
        for number in range(count):
            # The last machine of each class always has a stop, so that no fleet is without one.
            stops = number == count - 1 or dice.chance(DOWNTIME_SHARE)
            downtime = (_stop(zone, first, dice),) if stops else ()
            fleet[name].append(
                _printer(
                    f"{name}-{number + 1:0{width}d}", variants[number % len(variants)], start, ambient_c,
                    downtime, dice,
                )
            )  # fmt: skip
    return fleet


def dryers(size: Size, zone: ZoneInfo, first: date, dice: Dice) -> tuple[Dryer, ...]:
    """The dryers; the first of the batch dryers at 125 °C has a planned stop."""
    made = []
    for kind, count in size.dryers.items():
        like = DRYER_KINDS[kind]
        for number in range(1, count + 1):
            stops = (kind == "batch-125" and number == 1) or dice.chance(DOWNTIME_SHARE / 2)
            made.append(
                Dryer(
                    f"{kind}-{number:0{len(str(count))}d}", like.kind, like.max_c, like.fixed_c, like.vacuum,
                    like.slots, like.warmup_min, (_stop(zone, first, dice),) if stops else (),
                )
            )  # fmt: skip
    return tuple(made)


def ovens(
    size: Size, dryers_there: Sequence[Dryer], zone: ZoneInfo, first: date, dice: Dice
) -> tuple[Oven, ...]:
    """Ovens of their own, and every second batch dryer at 160 °C, which anneals up to 210 °C as well."""
    own = [
        Oven(f"oven-{number}", 250, 4, (_stop(zone, first, dice),) if dice.chance(DOWNTIME_SHARE) else ())
        for number in range(1, size.own_ovens + 1)
    ]
    both = [dryer for dryer in dryers_there if dryer.id.startswith("batch-160")][::2]
    return (*own, *(Oven(dryer.id, 210, 4, dryer.downtime) for dryer in both))
