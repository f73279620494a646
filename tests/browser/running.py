"""The demo shop served in a thread, on a day and at an hour that never change."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from waitress.server import create_server

from demo_fleet import demo_shop
from scheduler.office import plans
from scheduler.office.config import Config
from scheduler.office.shop import import_scenario
from scheduler.store import Record
from scheduler.store.rows.batch import table
from scheduler.store.tables import SignInSessionRow
from tests.web.seats import seat
from web import create_app
from web.commands import demo_orders
from web.cookies import SEAT
from web.services import services_of
from workers import make_runner

#: A Tuesday.
TODAY = date(2031, 3, 4)
#: How long after the first minute of its plan the shop is looked at.
INTO_THE_DAY = timedelta(hours=3, minutes=41)


#: The cookies of a manager's browser at each served shop, by the shop's address.
SEATS: dict[str, dict[str, str]] = {}


@dataclass(frozen=True)
class Running:
    """A served shop; ``move`` puts its clock on by so many minutes."""

    url: str
    record: Record
    now: Callable[[], datetime]
    move: Callable[[float], None]


def seat_of(url: str) -> list[Any]:
    """The cookies of a browser at which a manager is signed in at the shop that has this address."""
    server = next(server for server in SEATS if url.startswith(server))
    return [{"name": name, "value": value, "url": server} for name, value in SEATS[server].items()]


@contextmanager
def demo_running(folder: Path, plan_seconds: float = 1.0, planned: bool = True) -> Iterator[Running]:
    """Serve the demo shop, with a published plan or none, from a database in ``folder``."""
    asked = dict(os.environ) | {
        "SOAKLINE_DATABASE_URL": f"sqlite:///{folder / 'demo.sqlite3'}",
        "SOAKLINE_PLAN_SECONDS": f"{plan_seconds:g}",
        "SOAKLINE_REDIS_URL": "",
    }
    config = Config.from_env(asked)
    record = Record(config.database_url)
    record.migrate()
    scenario = demo_shop(TODAY)

    def morning() -> datetime:
        return scenario.site.plan_start

    later = [timedelta(0)]

    def now() -> datetime:
        return scenario.site.plan_start + INTO_THE_DAY + later[0]

    def move(minutes: float) -> None:
        later[0] += timedelta(minutes=minutes)
        # Whoever sits at a browser has gone on working meanwhile.
        sign_ins = table(SignInSessionRow)
        with record.writing() as unit:
            unit.connection.execute(
                sign_ins.update().values(used_at=now(), ends_at=now() + timedelta(hours=12))
            )

    import_scenario(record, morning, scenario, demo_orders())
    if planned:
        run_id = plans.request_plan(record, morning)
        plans.carry_out(record, morning, run_id, plan_seconds, 1)
        with record.reading() as unit:
            run = unit.runs.get(run_id)
        assert run is not None and run.plan_number is not None, run
        plans.publish(record, morning, run.plan_number)
    runner = make_runner(config, record, now)
    app = create_app(config, record, now, runner)
    server = create_server(app, host="127.0.0.1", port=0, threads=24, channel_request_lookahead=1)
    thread = threading.Thread(target=server.run, name="served demo", daemon=True)
    thread.start()
    url = f"http://127.0.0.1:{server.effective_port}"
    SEATS[url] = {SEAT: seat(record, now)}
    try:
        yield Running(url, record, now, move)
    finally:
        services_of(app).live.close()
        time.sleep(0.2)  # Streams end by themselves; a server that is gone could not tell them.
        runner.close()
        server.close()
        thread.join(timeout=10)
        record.close()
