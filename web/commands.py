"""``soakline demo`` and ``soakline serve``."""

from __future__ import annotations

import dataclasses
import os
import tempfile
from contextlib import nullcontext
from datetime import datetime, timedelta
from pathlib import Path

import click

from demo_fleet import demo_shop
from demo_fleet.orders import orders_info
from scheduler.model import Scenario
from scheduler.model.errors import SoaklineError
from scheduler.office import plans
from scheduler.office.clock import Clock, system_clock
from scheduler.office.config import Config
from scheduler.office.logs import set_up_logging
from scheduler.office.shop import import_scenario
from scheduler.planning.compiled import is_built
from scheduler.store import NoShop, Order, Record
from web.demo_later import DemoQuotes
from web.demo_people import demo_lines
from web.demo_quotes import note_past
from web.serving import address, listen, must_ask_people, serve_pages

#: How long the demo's first plan is improved where the search is not compiled yet, seconds.
FIRST_PLAN_S = 1.5


class NotPlanned(SoaklineError):
    """The demo shop's plan was not made."""


@click.command()
@click.option("--port", type=click.IntRange(1, 65535), help="Port to listen on; else 8642, or a free one.")
@click.option(
    "--database",
    type=click.Path(dir_okay=False, path_type=Path),
    help="SQLite file that keeps the demo shop for next time; else it is made anew and forgotten.",
)
def demo(port: int | None, database: Path | None) -> None:
    """Show a made-up shop in the browser: record, plan and serve it.

    It needs no network and touches no other database. An empty one gets the demo shop, dated from
    today, and a published plan. Three made-up people sign in by the links that it prints.
    """
    config = Config.from_env(os.environ)
    set_up_logging(config.log_level)
    # Asked for first: a taken port should not cost the planning time.
    listening = listen("127.0.0.1", port or config.port, fall_back=port is None)
    keep = nullcontext(None) if database else tempfile.TemporaryDirectory(prefix="soakline-demo-")
    with keep as folder:
        file = database.absolute() if database else Path(str(folder)) / "demo.sqlite3"
        config = dataclasses.replace(
            config, database_url=f"sqlite:///{file}", redis_url=None, host="127.0.0.1", names=(), https=False
        )
        record = Record(config.database_url)
        record.migrate()
        improve_when = later = None
        if not _has_shop(record):
            click.echo("Making the demo shop and its plan ...")
            if not is_built():
                click.echo("A better one comes by itself when the search is compiled, in about a minute.")
                improve_when = is_built
            _set_up(record, config, system_clock())
            later = DemoQuotes(
                record, system_clock, config.database_url, is_built, better=improve_when is not None
            )
        told = demo_lines(record, system_clock, address(listening))
        serve_pages(config, record, system_clock, listening, improve_when, told, later)


@click.command()
def serve() -> None:
    """Serve the pages of the recorded shop.

    SOAKLINE_DATABASE_URL says where the shop is recorded, SOAKLINE_HOST and SOAKLINE_PORT where to
    listen.
    """
    config = Config.from_env(os.environ)
    set_up_logging(config.log_level)
    record = Record(config.database_url)
    record.migrate()
    must_ask_people(config, record)
    listening = listen(config.host, config.port)
    click.echo(f"The shop's record is {record.place}")
    serve_pages(config, record, system_clock, listening)


def _has_shop(record: Record) -> bool:
    with record.reading() as unit:
        try:
            unit.fleet.load()
        except NoShop:
            return False
    return True


def _demo_of(now: datetime) -> Scenario:
    """The demo shop whose week has begun by ``now``: before its first hour that is yesterday's."""
    scenario = demo_shop(now.date())
    if scenario.site.plan_start > now:
        scenario = demo_shop(now.date() - timedelta(days=1))
    return scenario


def demo_orders() -> tuple[Order, ...]:
    """Who ordered what of the demo shop, and what the front desk noted."""
    return tuple(
        Order(name, info.customer, info.note, info.confidential) for name, info in orders_info().items()
    )


def _set_up(record: Record, config: Config, now: datetime) -> None:
    """Record the demo shop with the plan that somebody made at its first minute this morning."""
    scenario = _demo_of(now)

    def morning() -> datetime:
        return scenario.site.plan_start

    clock: Clock = morning
    import_scenario(record, clock, scenario, demo_orders())
    run_id = plans.request_plan(record, clock)
    # Without the compiled search waiting helps little, and a better plan comes by itself.
    seconds = config.plan_seconds if is_built() else min(config.plan_seconds, FIRST_PLAN_S)
    plans.carry_out(record, clock, run_id, seconds, 1)
    with record.reading() as unit:
        run = unit.runs.get(run_id)
    if run is None or run.plan_number is None:
        raise NotPlanned(f"the demo shop could not be planned: {run.message if run else 'no run'}")
    plans.publish(record, clock, run.plan_number)
    with record.writing() as unit:
        published = unit.plans.published()
        assert published is not None
        note_past(unit, scenario, published.plan, scenario.site.plan_start)
