"""`soakline check`: whether a plan keeps every rule of the contract."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from scheduler.checking import check as judge
from scheduler.checking import costs
from scheduler.model.codec import read_plan_file, read_scenario_file

#: Exit code for a plan that breaks a rule.
EXIT_BROKEN = 1


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.argument("plan", type=click.Path(path_type=Path))
def check(scenario: Path, plan: Path) -> None:
    """Judge PLAN, a plan file, against SCENARIO, the file that it was made for.

    One line for each broken rule: the rule, who breaks it, what is there and what is asked for.
    Exit code 0: valid; 1: a rule is broken; 2: a file can't be read.
    """
    shop, shop_hash = read_scenario_file(scenario)
    judged = read_plan_file(plan, shop)
    breaches = judge(shop, judged, shop_hash)
    for breach in breaches:
        click.echo(str(breach))
    if breaches:
        click.echo(f"not valid: {len(breaches)} {'breach' if len(breaches) == 1 else 'breaches'}", err=True)
        sys.exit(EXIT_BROKEN)
    figures = costs(shop, judged)
    late = sum(1 for job in judged.jobs if job.late_min > 0)
    click.echo(
        f"valid: {len(judged.jobs)} jobs placed, {late} of them late, {len(judged.unplaced)} not placed; "
        f"{figures.late_cost:.2f} late hours, {figures.attended_min} min of people, "
        f"{figures.preheat_min} min of preheating"
    )
