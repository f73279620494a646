"""The demo: Sourdough Print House in Obermurchlingen, a contract shop in a former bakery.

Three generations baked here; the founder kept the ovens and named the printers after her aunts. Two
early hands, one more at mid-morning, two in the late shift; nobody at night, two on Saturday. On
evenings before a day without a late shift the founder, who lives upstairs, may load a machine; the
plan never counts on it. Place, people and customers are made up.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from demo_fleet import machines, orders, stock
from demo_fleet.begun import Stage, begin
from demo_fleet.calendar import SATURDAY, Watch, local_instant, rota
from demo_fleet.materials import BY_ID, MATERIALS, PURGES
from scheduler.model import DryerRun, FeedChoice, OvenRun, Scenario, Site, UnderWay

NAME = "Sourdough Print House, Obermurchlingen"
ZONE = "Europe/Berlin"
#: Days of rota: the ten of the order book and as many again and more, so that late work has hands too.
ROTA_DAYS = 28

_WEEKDAYS = (0, 1, 2, 3, 4)
WATCHES = (
    Watch(_WEEKDAYS, (6, 0), (14, 0), 2),
    Watch(_WEEKDAYS, (9, 0), (12, 0), 1),
    Watch(_WEEKDAYS, (14, 0), (22, 0), 2),
    Watch((SATURDAY,), (7, 0), (13, 0), 2),
)


@dataclass(frozen=True, slots=True)
class _Begun:
    """A plate under way: where, with which nozzle and spool a feed, in which stage since how long."""

    job: str
    printer: str
    choices: tuple[tuple[str, str, str], ...]
    stage: Stage
    into_min: int
    gap_min: int = 0


#: The state at 06:00: what was started last evening, and what the timer began to heat before dawn.
_BEGUN: tuple[_Begun, ...] = (
    _Begun("2213-1", "agathe", (("left", "0.4b", "PLA-1"),), "print", 485),
    _Begun("2221-1", "clothilde", (("left", "0.4b", "PETG-1"),), "print", 460),
    _Begun("2211-1", "emmi", (("left", "0.4b", "TPU-1"),), "cooldown", 50),
    _Begun("2220-1", "ilse", (("left", "0.4h", "PC-1"),), "changeover", 490),
    _Begun("2212-1", "jette", (("left", "0.6h", "PA12-CF-1"), ("right", "0.4b", "SUP-1")), "print", 505),
    _Begun("2201-1", "leopoldine", (("left", "0.6x", "PPS-CF-1"),), "cooldown", 40),
    _Begun("2216-1", "mathilde", (("left", "0.4k", "PEKK-1"),), "print", 520),
    _Begun("2202-1", "quirina", (("left", "0.4k", "PEI-1"),), "preheat", 70, 390),
    _Begun("2214-1", "rosamunde", (("left", "0.4k", "PEEK-1"),), "print", 700),
    _Begun("2218-1", "rosamunde", (("left", "0.6x", "PEEK-CF-1"),), "finished", 1000),
    _Begun("2218-2", "philippine", (("left", "0.6x", "PEEK-CF-2"),), "finished", 600),
    _Begun("2232-1", "ottokara", (("left", "0.6x", "PPS-CF-2"),), "finished", 520),
)

#: Dryer runs begun: dryer, setpoint, minutes since the start, minutes to the end, spools.
_DRYING: tuple[tuple[str, float, int, int, tuple[str, ...]], ...] = (
    ("crumb", 120, 490, 15, ("PPSU-1", "PPSU-3", "PPS-CF-2")),
    ("larder", 80, 495, 30, ("PA12-CF-2",)),
    ("larder", 80, 490, 230, ("PA6-GF-2",)),
    ("pantry", 65, 480, 60, ("SUP-2",)),
)

_ANNEALING: tuple[tuple[str, float, int, int, tuple[str, ...]], ...] = (
    ("kiln", 200, 490, 110, ("2218-1", "2218-2")),
)


def site(today: date) -> Site:
    """The shop's habits; minute 0 is 06:00 local of ``today``."""
    return Site(
        name=NAME,
        timezone=ZONE,
        plan_start=local_instant(ZoneInfo(ZONE), today, 6),
        ambient_c=22,
        dry_storage=True,
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


def demo_shop(today: date, seed: int = 1) -> Scenario:
    """The demo shop on the morning of ``today``.

    Parameters
    ----------
    seed : int
        Varies print times and draws by a few per cent.

    Returns
    -------
    Scenario
        Eighteen printers, 110 plates of forty orders, forty-five spools; the same for the same
        arguments.
    """
    zone = ZoneInfo(ZONE)
    house = site(today)
    jobs = {job.id: job for job in orders.jobs(zone, today, seed)}
    printers = {printer.id: printer for printer in machines.printers(zone, today, house.ambient_c)}
    for each in _BEGUN:
        choices = tuple(FeedChoice(*choice) for choice in each.choices)
        jobs[each.job], printers[each.printer] = begin(
            house,
            jobs[each.job],
            printers[each.printer],
            choices,
            BY_ID,
            each.stage,
            each.into_min,
            each.gap_min,
        )
    start = house.plan_start
    return Scenario(
        site=house,
        shifts=rota(zone, today, ROTA_DAYS, WATCHES),
        materials=MATERIALS,
        printers=tuple(printers.values()),
        dryers=machines.dryers(zone, today),
        ovens=machines.ovens(zone, today),
        spools=stock.spools(zone, today),
        jobs=tuple(jobs.values()),
        under_way=UnderWay(
            tuple(
                DryerRun(
                    f"begun-{number}", dryer, setpoint_c, start - timedelta(minutes=since),
                    start + timedelta(minutes=left), spools,
                )
                for number, (dryer, setpoint_c, since, left, spools) in enumerate(_DRYING, 1)
            ),
            tuple(
                OvenRun(
                    f"begun-oven-{number}", oven, temp_c, start - timedelta(minutes=since),
                    start + timedelta(minutes=left), names,
                )
                for number, (oven, temp_c, since, left, names) in enumerate(_ANNEALING, 1)
            ),
        ),
    )  # fmt: skip
