"""Made-up stock for a list of jobs: lots of spools, some dried, some late, some on soft bodies."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import timedelta

from demo_fleet.dice import Dice
from demo_fleet.materials import BY_ID
from demo_fleet.sizes import Size
from demo_fleet.stock import BODIES
from scheduler.model import Dryer, DryingRow, Job, Material, Site, Spool

#: Net weights of spools on sale, grams.
NET_G = (1000.0, 1000.0, 2000.0, 2500.0)
SPOOLS_A_LOT = (4, 4, 5, 6)
#: The same polymers on a body that stands less heat: longer and cooler (estimates, see MATERIALS.md).
OWN_ROWS = {
    "ASA": DryingRow(75, 8, False),
    "PA12-CF": DryingRow(75, 12, False),
    "PA6-GF": DryingRow(75, 18, False),
}
OWN_BODY = "polystyrene"


def _bodies_for(material: Material, dryers: Sequence[Dryer]) -> list[str]:
    """Spool bodies on which one of the shop's dryers can dry the material."""
    rows = [
        row
        for row in material.drying
        if any(
            row.temp_c <= dryer.max_c
            and (dryer.kind == "batch" or dryer.fixed_c == row.temp_c)
            and (dryer.vacuum or not row.vacuum)
            for dryer in dryers
        )
    ]
    return [body for body, heat in BODIES.items() if any(row.temp_c <= heat for row in rows)]


class Shelf:
    """Fills the shelf material by material."""

    def __init__(self, size: Size, site: Site, dryers: Sequence[Dryer], dice: Dice) -> None:
        self._size, self._site, self._dryers, self._dice = size, site, dryers, dice
        self.spools: list[Spool] = []
        self._numbers: Counter[str] = Counter()
        self._lots = 0

    def add(
        self, material: str, lot: str, grams: float, body: str, certs: tuple[str, ...] = (), *,
        late_h: float = 0, exposed_min: int | None = None, drying: tuple[DryingRow, ...] | None = None,
    ) -> Spool:  # fmt: skip
        """Puts one spool on the shelf; ``exposed_min`` is ``None`` for one that is not dried."""
        self._numbers[material] += 1
        spool = Spool(
            id=f"{material}-{self._numbers[material]:03d}",
            material=material,
            lot=lot,
            grams=grams,
            body_max_c=BODIES[body],
            certs=certs,
            available_from=self._site.plan_start + timedelta(hours=late_h),
            dried=exposed_min is not None,
            exposed_min=exposed_min or 0,
            drying=drying,
        )
        self.spools.append(spool)
        return spool

    def new_lot(self) -> str:
        """A lot number not used before."""
        self._lots += 1
        return f"LOT{self._lots:05d}"

    def fill(self, jobs: Sequence[Job]) -> None:
        """Lots enough for ``jobs``: first the certified ones, then plain ones up to the stock factor."""
        asked: Counter[str] = Counter()
        certified: Counter[tuple[str, tuple[str, ...]]] = Counter()
        users: Counter[str] = Counter()
        for job in jobs:
            for feed in job.feeds:
                asked[feed.material] += int(feed.grams)
                users[feed.material] += 1
                if feed.certs:
                    certified[feed.material, feed.certs] += int(feed.grams)
        for name in sorted(asked):
            there = 0.0
            for certs in sorted(certs for material, certs in certified if material == name):
                wanted = self._size.stock_factor * certified[name, certs]
                held = 0.0
                while held < wanted:
                    held += self._lot(BY_ID[name], certs, plain=False)
                there += held
            while there < self._size.stock_factor * asked[name] + 1000 or self._numbers[name] < 3:
                there += self._lot(BY_ID[name], (), plain=True)
        # What every shelf has: a body that no dryer may warm enough, own recipes, and a late delivery.
        self.add("PC", self.new_lot(), 1000.0, "polystyrene")
        self.add("PA6-GF", self.new_lot(), 2500.0, OWN_BODY, drying=(OWN_ROWS["PA6-GF"],))
        self.add("PETG", self.new_lot(), 2500.0, "cardboard", late_h=51)

    def _lot(self, material: Material, certs: tuple[str, ...], *, plain: bool) -> float:
        """Puts a lot on the shelf; returns its grams. Certified lots are on sound bodies and at hand."""
        dice, lot = self._dice, self.new_lot()
        net = dice.pick(NET_G)
        sound = _bodies_for(material, self._dryers)
        limit = material.open_time_min or 2880
        grams = 0.0
        late_h = dice.whole(1, 5) * 24.0 + dice.whole(2, 9) if plain and dice.chance(0.12) else 0.0
        for number in range(dice.pick(SPOOLS_A_LOT)):
            body = dice.pick(sound)
            own = None
            if plain and material.id in OWN_ROWS and dice.chance(0.1):
                body, own = OWN_BODY, (OWN_ROWS[material.id],)
            exposed = dice.whole(0, limit // 3) if late_h == 0 and dice.chance(0.3) else None
            opened = number == 0 and late_h == 0 and dice.chance(0.4)
            left = 5.0 * round(net * dice.between(0.4, 0.9) / 5) if opened else net
            self.add(material.id, lot, left, body, certs, late_h=late_h, exposed_min=exposed, drying=own)
            grams += left
        return grams
