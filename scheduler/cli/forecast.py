"""`soakline forecast`: how sure the dates of a plan are."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import click

from scheduler.checking import check as judge
from scheduler.model.codec import read_plan_file, read_scenario_file
from scheduler.model.errors import SoaklineError
from scheduler.quoting.forecast import REPLICATIONS, Sureness
from scheduler.quoting.forecast import forecast as carried_out


class BrokenPlan(SoaklineError):
    """A plan that breaks rules is no ground for dates."""


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.argument("plan", type=click.Path(path_type=Path))
@click.option("--replications", type=click.IntRange(1, 10_000), default=REPLICATIONS, show_default=True)
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True)
@click.option("--jobs", is_flag=True, help="One line for each job instead of each order.")
def forecast(scenario: Path, plan: Path, replications: int, seed: int, jobs: bool) -> None:
    """Say how sure the dates of PLAN are, a plan file made for SCENARIO.

    The plan is carried out many times with chance: print times that differ from the estimate,
    failures with reprints, breakdowns, people who do not come, rush plates. Each line has the planned
    date, the dates by which it is done with 50, 80 and 95 %, and the chance of being on time; the
    least sure come first. Chances are working assumptions of the tool, not the shop's records.
    """
    shop, shop_hash = read_scenario_file(scenario)
    made = read_plan_file(plan, shop)
    breaches = judge(shop, made, shop_hash)
    if breaches:
        raise BrokenPlan(f"{plan} breaks {len(breaches)} rules, the first: {breaches[0]}")
    found = carried_out(shop, made, replications=replications, seed=seed)
    rows = found.of_jobs() if jobs else found.of_orders()
    zone = ZoneInfo(shop.site.timezone)
    what = "job" if jobs else "order"
    width = max([len(what), *(len(row.id) for row in rows)])
    click.echo(
        f"{what:<{width}}  on time  due              planned          50 %             80 %             95 %"
    )
    for row in sorted(
        rows, key=lambda row: (2.0 if row.on_time is None else row.on_time, row.planned, row.id)
    ):
        click.echo(f"{row.id:<{width}}  {_line(row, zone)}")
    if made.unplaced:
        click.echo(f"without a place in the plan, and so without a date: {len(made.unplaced)} jobs", err=True)


def _line(row: Sureness, zone: ZoneInfo) -> str:
    chance = "      –" if row.on_time is None else f"{100 * row.on_time:5.0f} %"
    dates = [row.due, row.planned, *row.by]
    return f"{chance}  " + "  ".join(_when(date, zone) for date in dates)


def _when(instant: datetime | None, zone: ZoneInfo) -> str:
    if instant is None:
        return f"{'–':<15}"
    there = instant.astimezone(zone)
    return f"{there:%a} {there.day:>2} {there:%b %H:%M}"
