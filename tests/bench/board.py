"""How long the board takes: `python -m tests.bench.board [demo|S|M|L|XL ...]`.

Plans each shop, serves it in this process and asks for the board: first with nothing read yet, as
after a start or a new plan, then again. Milliseconds and kB of the answer.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from demo_fleet import demo_shop, generate
from scheduler.model import Scenario
from scheduler.model.codec import scenario_hash
from scheduler.office.config import Config
from scheduler.planning import make_plan
from scheduler.store import Record
from tests.web.fakes import NotingRunner
from web import create_app

DEMO_DAY = date(2031, 3, 4)
LOOKS = 5


@dataclass(frozen=True, slots=True)
class Timing:
    """One row of the table."""

    shop: str
    printers: int
    jobs: int
    first_ms: float
    again_ms: float
    kilobytes: float


def _ms(since: float) -> float:
    return (time.perf_counter() - since) * 1000


def measure(name: str, scenario: Scenario, folder: Path) -> Timing:
    """Record and plan one shop, and look at its board."""
    start = scenario.site.plan_start

    def clock() -> datetime:
        return start

    record = Record(f"sqlite:///{folder / name}.sqlite3")
    record.migrate()
    plan = make_plan(scenario, scenario_hash=scenario_hash(scenario), made_at=start)
    with record.writing() as unit:
        unit.fleet.replace(scenario)
        unit.plans.publish(unit.plans.add(plan), start)
    # The first request of a process also compiles templates; that is part of a first load.
    client = create_app(Config.from_env({}), record, clock, NotingRunner()).test_client()
    began = time.perf_counter()
    size = len(client.get("/").data)
    first_ms = _ms(began)
    began = time.perf_counter()
    for _ in range(LOOKS):
        client.get("/")
    again_ms = _ms(began) / LOOKS
    record.close()
    return Timing(name, len(scenario.printers), len(scenario.jobs), first_ms, again_ms, size / 1000)


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("shops", nargs="*", default=["demo", "L"], help="demo, S, M, L or XL")
    print(f"{'shop':>5} {'printers':>8} {'jobs':>6} {'first ms':>9} {'again ms':>9} {'kB':>7}")
    with tempfile.TemporaryDirectory() as folder:
        for name in parser.parse_args(arguments).shops:
            scenario = demo_shop(DEMO_DAY) if name == "demo" else generate(name, 1)
            row = measure(name, scenario, Path(folder))
            print(
                f"{row.shop:>5} {row.printers:>8} {row.jobs:>6} "
                f"{row.first_ms:>9.0f} {row.again_ms:>9.1f} {row.kilobytes:>7.0f}"
            )


if __name__ == "__main__":
    main()
