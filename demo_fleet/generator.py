"""Made-up scenarios of four sizes, with every feature that a scenario can have."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from demo_fleet import made_fleet
from demo_fleet.calendar import SATURDAY, Watch, local_instant, rota
from demo_fleet.dice import Dice
from demo_fleet.made_jobs import TRAITS, OrderMaker
from demo_fleet.made_state import State
from demo_fleet.made_stock import Shelf
from demo_fleet.materials import MATERIALS, PETG_THICK, PURGES
from demo_fleet.sizes import BASE_DATE, ROTA_DAYS, SIZES, ZONE, Size
from scheduler.model import Scenario, Site, UnderWay
from scheduler.model.errors import SoaklineError

_WEEKDAYS = (0, 1, 2, 3, 4)


class UnknownSize(SoaklineError):
    """A size that is not in the table."""


def _watches(size: Size) -> tuple[Watch, ...]:
    early, middle, late, saturday = size.hands
    return (
        Watch(_WEEKDAYS, (6, 0), (14, 0), early),
        Watch(_WEEKDAYS, (9, 0), (13, 0), middle),
        Watch(_WEEKDAYS, (14, 0), (22, 0), late),
        Watch((SATURDAY,), (7, 0), (15, 0), saturday),
    )


def _site(name: str, size: Size, seed: int, zone: ZoneInfo) -> Site:
    return Site(
        name=f"made-up shop {name}, seed {seed}",
        timezone=ZONE,
        plan_start=local_instant(zone, BASE_DATE, 6),
        ambient_c=22,
        dry_storage=seed % size.wet_every != 0,
        start_min=10,
        unload_min=8,
        plate_min=6,
        spool_swap_min=4,
        nozzle_swap_min=12,
        purge_min=8,
        purges=PURGES,
        dryer_load_min=6,
        oven_load_min=10,
        freeze_min=120,
        move_cost_h=2,
    )


def generate(size: str, seed: int) -> Scenario:
    """A made-up scenario; the same for the same arguments on every machine.

    Parameters
    ----------
    size : str
        A key of :data:`demo_fleet.sizes.SIZES`.

    Raises
    ------
    UnknownSize
        If the table has no such size.
    """
    if size not in SIZES:
        raise UnknownSize(f"size {size!r} is none of {', '.join(SIZES)}")
    figures, zone = SIZES[size], ZoneInfo(ZONE)
    dice = Dice(f"made-up shop {size} {seed}")
    site = _site(size, figures, seed, zone)
    fleet = made_fleet.printers(figures, zone, BASE_DATE, site.ambient_c, dice)
    dryers = made_fleet.dryers(figures, zone, BASE_DATE, dice)
    drafts = OrderMaker(figures, site, zone, fleet, dice).drafts()
    jobs = tuple(draft.job for draft in drafts)
    shelf = Shelf(figures, site, dryers, dice)
    shelf.fill(jobs)
    resting = Scenario(
        site=site,
        shifts=rota(zone, BASE_DATE, ROTA_DAYS, _watches(figures)),
        materials=(*MATERIALS, PETG_THICK),
        printers=tuple(printer for group in fleet.values() for printer in group),
        dryers=dryers,
        ovens=made_fleet.ovens(figures, dryers, zone, BASE_DATE, dice),
        spools=tuple(shelf.spools),
        jobs=jobs,
        under_way=UnderWay((), ()),
    )
    first_orders = list(dict.fromkeys(job.order for job in jobs))[: len(TRAITS)]
    kept = frozenset(job.id for job in jobs if job.order in first_orders)
    return State(figures, resting, shelf, BASE_DATE, dice, kept).scenario()
