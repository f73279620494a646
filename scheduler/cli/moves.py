"""`soakline moves`: what a new plan moves of the one before it, and why."""

from __future__ import annotations

from pathlib import Path

import click

from scheduler.model import Plan, Scenario
from scheduler.model.codec import read_plan_file, read_scenario_file
from scheduler.model.errors import SoaklineError
from scheduler.planning.moves import moves as compared
from scheduler.planning.moves.words import line, totals

#: Lines shown if not told otherwise.
LINES = 20


@click.command()
@click.argument("old_scenario", type=click.Path(path_type=Path))
@click.argument("old_plan", type=click.Path(path_type=Path))
@click.argument("new_scenario", type=click.Path(path_type=Path))
@click.argument("new_plan", type=click.Path(path_type=Path))
@click.option(
    "--lines",
    default=LINES,
    show_default=True,
    type=click.IntRange(min=0),
    help="Jobs that are told, the worst first; 0: all.",
)
def moves(old_scenario: Path, old_plan: Path, new_scenario: Path, new_plan: Path, lines: int) -> None:
    """Say what NEW_PLAN moves of OLD_PLAN, the worst first, and which event made each job move.

    Each plan comes with the scenario that it was made for; the new one begins at the same minute as the
    old one or later.
    """
    shop, _ = read_scenario_file(old_scenario)
    before = read_plan_file(old_plan, shop)
    changed, _ = read_scenario_file(new_scenario)
    after = read_plan_file(new_plan, changed)
    if changed.site.plan_start < shop.site.plan_start:
        raise SoaklineError(
            f"{new_scenario} begins {changed.site.plan_start.isoformat()}, before {old_scenario}"
            f" ({shop.site.plan_start.isoformat()}); the old shop and plan come first"
        )
    tell(shop, before, changed, after, lines)


def tell(old: Scenario, old_plan: Plan, new: Scenario, new_plan: Plan, lines: int = LINES) -> None:
    """Print the totals, then a line for each job that moves."""
    found = compared(old, old_plan, new, new_plan)
    click.echo(totals(found))
    shown = found.moves[:lines] if lines else found.moves
    for move in shown:
        click.echo(f"  {line(move, new.site)}")
    if len(found.moves) > len(shown):
        click.echo(f"  and {len(found.moves) - len(shown)} more; --lines 0 tells all")
