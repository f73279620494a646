"""How long each page takes: `python -m tests.bench.pages [demo|S|M|L|XL ...]`.

Plans a shop, publishes the plan, lets some hours pass, stops a machine, plans anew, and asks for every
page that is looked at: first with the shop read but nothing worked out yet, as after a new plan, then
again. Milliseconds of the server's processor (waiting on a busy machine doesn't count) and kB; what takes
longer than a page may is marked.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from urllib.parse import quote

from demo_fleet import demo_shop, generate
from scheduler.model import Downtime, Plan, Scenario
from scheduler.office import plans
from scheduler.office.config import Config
from scheduler.office.fleet import save_printer
from scheduler.office.shop import import_scenario
from scheduler.store import Record
from tests.web.fakes import AskingHere, NotingRunner
from tests.web.seats import seat
from web import create_app
from web.cookies import SEAT

DEMO_DAY = date(2031, 3, 4)
PASSED = timedelta(hours=5)
#: A page that takes longer is marked, milliseconds.
SLOW_MS = 500.0
LOOKS = 3


@dataclass(frozen=True, slots=True)
class Timing:
    """One row of the table; ``status`` is the answer's."""

    path: str
    status: int
    first_ms: float
    again_ms: float
    kilobytes: float


@dataclass
class Hand:
    """A clock that is put on by hand."""

    now: datetime

    def __call__(self) -> datetime:
        return self.now


def planned(record: Record, clock: Hand, seconds: float) -> int:
    """A proposal for the shop of now; its number."""
    run_id = plans.request_plan(record, clock)
    number = plans.carry_out(record, clock, run_id, seconds, 1)
    assert number is not None, f"run {run_id} made no plan"
    return number


def recorded(scenario: Scenario, file: Path, seconds: float) -> tuple[Record, Hand]:
    """A record with a published plan, some hours later, and a proposal after a machine has stopped."""
    record, clock = Record(f"sqlite:///{file}"), Hand(scenario.site.plan_start)
    record.migrate()
    import_scenario(record, clock, scenario)
    plans.publish(record, clock, planned(record, clock, seconds))
    clock.now += PASSED
    printer = scenario.printers[0]
    stopped = Downtime(clock.now, clock.now + timedelta(hours=9), "heater")
    save_printer(record, clock, replace(printer, downtime=(*printer.downtime, stopped)))
    planned(record, clock, seconds)
    return record, clock


def pages(scenario: Scenario, plan: Plan) -> Iterator[str]:
    """The address of each kind of page, with things of the shop that are worth a look."""
    late = max(plan.jobs, key=lambda job: job.late_min).job
    yield from ("/", "/?range=all", "/wall", "/board.json", "/queue", f"/jobs/{late}", f"/jobs/{late}/whatif")
    if plan.unplaced:
        yield f"/jobs/{plan.unplaced[0].job}"
    yield from ("/plan", "/plan/whatif", "/floor", f"/floor/machines/{scenario.printers[-1].id}")
    yield from (f"/floor/dryers/{scenario.dryers[0].id}", f"/floor/ovens/{scenario.ovens[0].id}")
    yield from (f"/floor/judge/{late}", "/floor/spools", "/floor/spools/labels", "/floor/handover")
    yield from (f"/trace/jobs/{late}", f"/trace/spools/{scenario.spools[0].id}")
    yield from (f"/orders/{scenario.jobs[0].order}", f"/queue/lines/{late}", "/orders/new", "/fleet")
    for kind in ("printers", "dryers", "ovens", "materials", "spools"):
        yield f"/fleet/{kind}/{getattr(scenario, kind)[0].id}"
        yield f"/fleet/{kind}/{getattr(scenario, kind)[0].id}/edit"
    yield from ("/bench", "/bench/air", "/bench/spools", f"/bench/dryers/{scenario.dryers[0].id}")
    yield from (f"/bench/printers/{scenario.printers[-1].id}", f"/bench/materials/{scenario.materials[0].id}")
    yield from ("/quotes", "/quotes/new", "/quotes/dates", "/quotes/learning", "/people", "/words")


def measure(record: Record, clock: Hand, path: str) -> Timing:
    """Ask for one page of a server that has read the shop and nothing else."""
    app = create_app(Config.from_env({}), record, clock, NotingRunner(), AskingHere(hold=True))
    client = app.test_client()
    client.set_cookie(SEAT, seat(record, clock))
    client.get("/words")
    spent = []
    for _ in range(1 + LOOKS):
        began = time.process_time()
        answer = client.get(quote(path, safe="/?=&"))
        spent.append((time.process_time() - began) * 1000)
    return Timing(path, answer.status_code, spent[0], sum(spent[1:]) / LOOKS, len(answer.data) / 1000)


def main(arguments: Sequence[str] | None = None) -> None:
    """Print a table for each shop."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("shops", nargs="*", default=["demo", "L"], help="demo, S, M, L or XL")
    parser.add_argument("--seconds", type=float, default=2.0, help="for each of the two plans")
    parser.add_argument("--only", default="", help="only addresses that begin with this")
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        for name in asked.shops:
            scenario = demo_shop(DEMO_DAY) if name == "demo" else generate(name, 1)
            record, clock = recorded(scenario, Path(folder) / f"{name}.sqlite3", asked.seconds)
            with record.reading() as unit:
                published = unit.plans.published()
            assert published is not None
            print(f"{name}: {len(scenario.printers)} printers, {len(scenario.jobs)} jobs")
            print(f"{'first ms':>9} {'again ms':>9} {'kB':>7}  page")
            for path in pages(scenario, published.plan):
                if not path.startswith(asked.only):
                    continue
                row = measure(record, clock, path)
                mark = "  slow" if max(row.first_ms, row.again_ms) > SLOW_MS else ""
                told = "" if row.status == 200 else f"  {row.status}"
                figures = f"{row.first_ms:>9.0f} {row.again_ms:>9.1f} {row.kilobytes:>7.0f}"
                print(f"{figures}  {row.path}{told}{mark}", flush=True)
            record.close()


if __name__ == "__main__":
    main()
