"""`soakline whatif`: what would save a job, and what another machine would cost, by trying it."""

from __future__ import annotations

from pathlib import Path

import click

from scheduler.model.codec import read_plan_file, read_scenario_file
from scheduler.planning.whatif import ROUNDS, other_machines, what_would_save
from scheduler.planning.whatif.words import line, summary


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.argument("plan", type=click.Path(path_type=Path))
@click.argument("job")
@click.option("--alternatives", is_flag=True, help="Try the job on each other machine that fits it instead.")
@click.option(
    "--rounds",
    default=ROUNDS,
    show_default=True,
    type=click.IntRange(0, 1_000_000),
    help="Rounds of the search in each trial; 0: the job is put in anew and nothing else moves.",
)
@click.option(
    "--seconds", type=click.FloatRange(min=0.1), help="No trial begins after so long; else all are made."
)
def whatif(
    scenario: Path, plan: Path, job: str, alternatives: bool, rounds: int, seconds: float | None
) -> None:
    """Say what would save JOB of PLAN, each change by trying it on the shop of SCENARIO.

    Tried are: the job put first, another job's promise moved, an hour of overtime, one more hand, a second
    spool, a nozzle, a dryer, a machine. Figures are those of trials with a short search; a longer one may
    find more.
    """
    shop, _ = read_scenario_file(scenario)
    stands = read_plan_file(plan, shop)
    ask = other_machines if alternatives else what_would_save
    tried = ask(shop, stands, job, rounds=rounds, limit_s=seconds)
    click.echo(f"Today: {line(tried.today, shop.site)}.")
    if alternatives:
        if not tried.trials:
            click.echo("No other machine fits it.")
        for trial in tried.trials:
            others = trial.others_late_h - tried.today.others_late_h
            click.echo(f"  {line(trial, shop.site)}; other jobs {others:+.2f} late hours.")
    else:
        click.echo(summary(tried))
        bare = tried.nothing
        for trial in (*((bare,) if bare else ()), *tried.helpful):
            click.echo(f"  {line(trial, shop.site)}.")
        if tried.idle:
            click.echo(f"No help beside that: {', '.join(trial.words for trial in tried.idle)}.")
    if tried.left:
        click.echo(f"{tried.left} more were not tried.")
