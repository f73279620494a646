"""Made-up orders: each aimed at a machine that can do it, so that what is possible is so by design."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from heapq import heapreplace
from zoneinfo import ZoneInfo

from demo_fleet.begun import common_window, lengths
from demo_fleet.calendar import SATURDAY, local_instant
from demo_fleet.dice import Dice
from demo_fleet.materials import BY_ID
from demo_fleet.sizes import Size
from scheduler.model import Feed, Head, Job, Material, Printer, Site, Span

#: Materials that a shop puts on each thermal class; cooler ones run there too, but are not aimed there.
AIMED: Mapping[str, Sequence[str]] = {
    "open": ("PLA", "PETG", "PETG-2.85", "TPU"),
    "warm": ("ASA", "PC", "PA12-CF", "PA6-GF"),
    "hot": ("PPS-CF", "PPSU", "PEKK", "PEEK", "PEEK-CF"),
    "very-hot": ("PEI", "PEI", "PEEK", "PPSU"),
}
SUPPORTS = ("SUP", "PPSU")
CERTIFICATES = ("lot-report", "food", "flame-class")
PARTS = (
    "bracket", "housing", "duct", "impeller", "guide", "jig", "cover", "manifold", "clip", "seat",
    "valve body", "gear", "spacer", "grip", "nozzle ring", "tray", "shroud", "hinge", "bushing", "handle",
)  # fmt: skip

#: The longest print that an attended machine or a spool in room air still takes is shortened by this.
MARGIN_MIN = 20
SHORTEST_MIN = 60
LONGEST_MIN = 1800
#: The longest stretch that both weekday shifts staff together.
STAFFED_STRETCH_MIN = 960
LARGEST_LOT_G = 1200.0
DUE_HOURS = (10, 12, 16)


@dataclass(frozen=True, slots=True)
class Draft:
    """A job and the printer that it was made for."""

    job: Job
    printer: Printer


def _bores(material: Material, head: Head) -> tuple[float, ...]:
    """Bores of the head's nozzles that stand the material; empty if it can't run there."""
    if head.filament_mm != material.filament_mm or material.nozzle_c.lo > head.max_c:
        return ()
    return tuple(
        nozzle.size_mm
        for nozzle in head.nozzles
        if nozzle.size_mm >= material.min_nozzle_mm
        and nozzle.max_c >= material.nozzle_c.lo
        and (nozzle.hardened or not material.abrasive)
        and (nozzle.corrosion_proof or not material.corrosive)
    )


def _support_for(part: Material, printer: Printer) -> tuple[Material, tuple[float, ...]] | None:
    """A second material whose windows meet the part's, for the other head."""
    if len(printer.heads) < 2:
        return None
    for name in SUPPORTS:
        support = BY_ID[name]
        try:
            common_window([part.bed_c, support.bed_c])
            window: Span = common_window([part.chamber_c, support.chamber_c])
        except ValueError:
            continue
        bores = _bores(support, printer.heads[1])
        if bores and name != part.id and window.lo <= (printer.chamber_max_c or 0):
            return support, bores
    return None


def _print_minutes(dice: Dice) -> int:
    """One to thirty hours, nearly half of them made to fill a night."""
    hours = dice.between(10, 16) if dice.chance(0.45) else dice.lognormal(8, 0.75)
    return max(SHORTEST_MIN, min(LONGEST_MIN, 5 * round(hours * 12)))


def _cut_to_fit(site: Site, job: Job, printer: Printer) -> Job | None:
    """``job`` shortened until an attended machine or an open spool takes it; ``None`` if too short."""
    each = lengths(site, job, printer, BY_ID)
    most = LONGEST_MIN
    before = printer.bed_heat_min + max(BY_ID[feed.material].soak_min for feed in job.feeds) + site.start_min
    if not printer.unattended:
        # Preheating may take longer than the least that the matcher asks for.
        most = min(most, STAFFED_STRETCH_MIN - max(before, each.preheat + site.start_min) - each.cooldown)
    for feed, head in zip(job.feeds, printer.heads, strict=False):
        material = BY_ID[feed.material]
        if material.open_time_min is not None and not head.dry_feed:
            most = min(most, material.open_time_min - site.plate_min - before - 2 * site.purge_min)
    longest = int((most - MARGIN_MIN) / printer.speed_factor)
    if longest < SHORTEST_MIN:
        return None
    return replace(job, print_min=min(job.print_min, longest))


Trait = Callable[[Sequence[Draft]], bool]

#: What the first orders must show, one each, so that every feature is in the smallest size.
TRAITS: Sequence[Trait] = (
    lambda order: len(order[0].job.feeds) == 2,
    lambda order: any(draft.job.same_lot_as is not None for draft in order),
    lambda order: order[0].job.anneal,
    lambda order: bool(order[0].job.feeds[0].certs),
    lambda order: bool(order[0].job.needs_qualified),
    lambda order: BY_ID[order[0].job.feeds[0].material].corrosive,
)


class OrderMaker:
    """Makes one order after the other until a size is full."""

    def __init__(
        self, size: Size, site: Site, zone: ZoneInfo, fleet: Mapping[str, Sequence[Printer]], dice: Dice
    ) -> None:
        self._size, self._site, self._zone, self._fleet, self._dice = size, site, zone, fleet, dice
        self._classes = list(size.work_shares)
        self._width = len(str(size.jobs))
        #: Print minutes aimed at each class and, in it, at each printer.
        self._class_load = dict.fromkeys(size.work_shares, 0.0)
        self._load = {name: [(0.0, index) for index in range(len(group))] for name, group in fleet.items()}

    def _least_asked(self) -> tuple[str, int]:
        """The class furthest under its share of the work, and its printer with the least work so far.

        Chance decides what an order is, not how many meet at one machine: a small shop's machines
        would else be idle on one seed and booked for three weeks on the next.
        """
        name = min(self._classes, key=lambda each: self._class_load[each] / self._size.work_shares[each])
        return name, self._load[name][0][1]

    def drafts(self) -> list[Draft]:
        """All jobs of the size, in order of their orders."""
        made: list[Draft] = []
        number = 0
        for trait in TRAITS:
            number += 1
            made += self._order_with(trait, number, len(made))
        while len(made) < self._size.jobs:
            number += 1
            made += self._order(number, len(made), *self._least_asked())
        return made

    def _order_with(self, trait: Trait, number: int, before: int) -> list[Draft]:
        """The first order by chance that has the trait."""
        while True:
            name = self._dice.pick(self._classes)
            order = self._order(number, before, name, self._dice.whole(0, len(self._fleet[name]) - 1))
            if order and trait(order):
                return order

    def _order(self, number: int, before: int, name: str, index: int) -> list[Draft]:
        """An order for the printer ``index`` of a class; empty if chance made one that fits nowhere."""
        dice = self._dice
        printer = self._fleet[name][index]
        head = printer.heads[0]
        material = BY_ID[dice.pick([each for each in AIMED[name] if _bores(BY_ID[each], head)])]
        plates = min(self._size.jobs - before, dice.weighted((1, 2, 3, 4, 6), (40, 25, 17, 12, 6)))
        minutes = _print_minutes(dice)
        grams = 5.0 * max(4, round(minutes / 60 * dice.between(15, 26) / 5))
        certs = (dice.pick(CERTIFICATES),) if dice.chance(0.18) else ()
        bores = _bores(material, head)
        feeds = [Feed(material.id, grams, bores if dice.chance(0.6) else (dice.pick(bores),), certs)]
        support = _support_for(material, printer)
        if support is not None and dice.chance(0.3):
            feeds.append(
                Feed(support[0].id, 5.0 * round(1 + grams * dice.between(0.05, 0.08)), support[1], ())
            )
        scale = dice.between(0.3, 0.95)
        x, y, z = printer.volume_mm
        release = self._release()
        first = Job(
            id="",
            order=f"O{number:0{self._width}d}",
            part=dice.pick(PARTS),
            quantity=dice.whole(1, 12),
            print_min=minutes,
            size_mm=(
                round(x * scale),
                round(y * scale * dice.between(0.5, 1)),
                round(z * scale * dice.between(0.2, 1)),
            ),
            needs_qualified=(dice.pick(printer.qualified),) if printer.qualified and dice.chance(0.3) else (),
            anneal=material.anneal is not None and dice.chance(0.35),
            finish_min=5 * dice.whole(2, 24),
            release=release,
            due=None,
            weight=dice.weighted((0.5, 1.0, 2.0, 3.0, 5.0), (15, 50, 20, 10, 5)),
            same_lot_as=None,
            pinned=None,
            feeds=tuple(feeds),
            progress=None,
        )
        fitted = _cut_to_fit(self._site, first, printer)
        if fitted is None:
            return []
        fitted = replace(fitted, due=self._due(fitted, printer, plates))
        one_lot = plates > 1 and plates * grams <= LARGEST_LOT_G and dice.chance(0.35)
        load_min = plates * fitted.print_min * printer.speed_factor
        self._class_load[name] += load_min
        load, least = self._load[name][0]
        if least == index:
            heapreplace(self._load[name], (load + load_min, index))
        names = [f"J{before + plate + 1:0{self._width}d}" for plate in range(plates)]
        return [
            Draft(
                replace(fitted, id=each, same_lot_as=names[0] if one_lot and each != names[0] else None),
                printer,
            )
            for each in names
        ]

    def _release(self) -> datetime:
        """Most orders are in the book at the start; the others come in over the following days."""
        if self._dice.chance(0.6):
            return self._site.plan_start
        ahead = self._dice.whole(0, int(self._size.release_days * 1440))
        return self._site.plan_start + timedelta(minutes=15 * (ahead // 15))

    def _due(self, job: Job, printer: Printer, plates: int) -> datetime | None:
        """A promise given from the least that a plate takes and the shop's tightness; a few have none."""
        dice, each = self._dice, lengths(self._site, job, printer, BY_ID)
        if dice.chance(0.04):
            return None
        material = BY_ID[job.feeds[0].material]
        drying_h = min((row.hours for row in material.drying), default=0.0)
        anneal_h = material.anneal.hours if job.anneal and material.anneal is not None else 0.0
        machine = each.changeover + each.preheat + each.start + each.print + each.cooldown + each.unload
        least_h = drying_h + anneal_h + (machine * (1 + 0.4 * (plates - 1)) + job.finish_min) / 60
        hours = self._size.tightness * least_h + dice.between(0, self._size.slack_h)
        return self._office_hour(job.release + timedelta(hours=hours))

    def _office_hour(self, instant: datetime) -> datetime:
        """The next hour on a working day at which customers fetch or carriers come."""
        day = instant.astimezone(self._zone).date()
        while True:
            if day.weekday() < SATURDAY:
                for hour in DUE_HOURS:
                    at = local_instant(self._zone, day, hour)
                    if at >= instant:
                        return at
            day += timedelta(days=1)
