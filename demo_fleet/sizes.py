"""What sets the four sizes of made-up scenarios apart: figures in one table, never a special case in code."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from demo_fleet.begun import Stage

#: The Monday on which every made-up plan starts, at 06:00.
BASE_DATE = date(2031, 3, 3)
ZONE = "Europe/Vienna"
ROTA_DAYS = 26

#: Thermal classes, coolest first, and their shares of the printers.
CLASS_SHARES: Mapping[str, float] = {"open": 0.375, "warm": 0.25, "hot": 0.25, "very-hot": 0.125}


@dataclass(frozen=True, slots=True)
class Size:
    """Figures of one size.

    Parameters
    ----------
    work_shares : mapping
        Share of the orders by thermal class that they ask for.
    hands : tuple of int
        People in the early shift, more at mid-morning, in the late shift, and on Saturday.
    dryers : mapping
        How many of each kind of ``made_fleet.DRYER_KINDS``.
    begun : mapping
        Jobs under way by the step that they are in; ``spent`` are prints whose open time is over.
    in_oven, pinned, impossible, short : int
        Jobs in a begun oven run, pinned jobs, jobs that nothing fits, pairs that share too little stock.
    dryer_runs : int
        Dryers with a begun run.
    release_days : float
        Orders come in over so many days; most are there at the start.
    tightness : float
        Due dates allow so many times the least time that a plate takes, and
    slack_h : float
        up to so many hours on top.
    wet_every : int
        Every so manieth seed is a shop without dry storage.
    stock_factor : float
        Filament on the shelf per gram asked for.
    """

    printers: int
    jobs: int
    work_shares: Mapping[str, float]
    hands: tuple[int, int, int, int]
    dryers: Mapping[str, int]
    own_ovens: int
    begun: Mapping[Stage, int]
    spent: int
    in_oven: int
    dryer_runs: int
    pinned: int
    impossible: int
    short: int
    release_days: float
    tightness: float
    slack_h: float
    wet_every: int = 4
    stock_factor: float = 2.2


_WORK = {"open": 0.33, "warm": 0.28, "hot": 0.26, "very-hot": 0.13}

SIZES: Mapping[str, Size] = {
    "S": Size(
        printers=8,
        jobs=40,
        work_shares=_WORK,
        hands=(1, 1, 1, 1),
        dryers={"rolling-65": 1, "rolling-80": 1, "batch-125": 1, "batch-160": 1, "vacuum": 1},
        own_ovens=1,
        begun={"changeover": 1, "preheat": 1, "print": 1, "cooldown": 1, "finished": 1},
        spent=1,
        in_oven=1,
        dryer_runs=3,
        pinned=1,
        impossible=1,
        short=1,
        release_days=1,
        tightness=1.0,
        slack_h=20,
    ),
    "M": Size(
        printers=40,
        jobs=200,
        work_shares=_WORK,
        hands=(4, 1, 3, 2),
        dryers={"rolling-65": 2, "rolling-80": 2, "batch-125": 2, "batch-160": 2, "vacuum": 1},
        own_ovens=2,
        begun={
            "changeover": 2, "preheat": 2, "start": 1, "print": 8, "cooldown": 2, "unload": 1, "finished": 2,
        },
        spent=1,
        in_oven=2,
        dryer_runs=5,
        pinned=3,
        impossible=4,
        short=1,
        release_days=1,
        tightness=1.0,
        slack_h=20,
    ),
    "L": Size(
        printers=200,
        jobs=1000,
        work_shares=_WORK,
        hands=(17, 5, 13, 8),
        dryers={"rolling-65": 8, "rolling-80": 8, "batch-125": 8, "batch-160": 8, "vacuum": 4},
        own_ovens=8,
        begun={
            "changeover": 8, "preheat": 8, "start": 3, "print": 50, "cooldown": 8, "unload": 3, "finished": 8,
        },
        spent=3,
        in_oven=8,
        dryer_runs=20,
        pinned=10,
        impossible=16,
        short=4,
        release_days=1,
        tightness=1.0,
        slack_h=20,
    ),
    "XL": Size(
        printers=2000,
        jobs=20000,
        work_shares=_WORK,
        hands=(170, 50, 130, 80),
        dryers={"rolling-65": 100, "rolling-80": 100, "batch-125": 110, "batch-160": 110, "vacuum": 40},
        own_ovens=120,
        begun={
            "changeover": 60, "preheat": 60, "start": 20, "print": 600, "cooldown": 60, "unload": 20,
            "finished": 80,
        },
        spent=10,
        in_oven=80,
        dryer_runs=200,
        pinned=60,
        impossible=200,
        short=20,
        release_days=2,
        tightness=1.0,
        slack_h=100,
    ),
}  # fmt: skip
