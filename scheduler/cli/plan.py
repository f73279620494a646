"""`soakline plan`: a scenario in, a plan out."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

import click

from scheduler.cli.ending import EXIT_STOPPED, stoppable
from scheduler.cli.files import must_be_writable, write_file
from scheduler.cli.moves import tell
from scheduler.cli.watching import Watching
from scheduler.model import Plan
from scheduler.model.codec import encode_plan, read_plan_file, read_scenario_file, to_json
from scheduler.planning import make_plan
from scheduler.planning.moves import moves
from scheduler.planning.moves.words import totals
from scheduler.planning.parts.processes import Processes


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), help="File to write the plan to.")
@click.option(
    "--seconds",
    default=2.0,
    show_default=True,
    type=click.FloatRange(min=0, max=86_400),
    help="Time for better plans after the first one.",
)
@click.option("--seed", default=1, show_default=True, type=int, help="Seed of the search.")
@click.option(
    "--from",
    "previous",
    type=click.Path(path_type=Path),
    help="Published plan that the new one replaces: what is about to begin stays, moves cost.",
)
@click.option(
    "--was",
    type=click.Path(path_type=Path),
    help="Scenario that the plan of --from was made for; then every job that moves is told with its cause.",
)
@click.option(
    "--processes",
    default=None,
    type=click.IntRange(1, 64),
    help="Processes that improve parts of a very large shop at the same time; threads of one if not given.",
)
def plan(
    scenario: Path,
    out: Path,
    seconds: float,
    seed: int,
    previous: Path | None,
    was: Path | None,
    processes: int | None,
) -> None:
    """Plan the jobs of SCENARIO and write the plan to a file.

    A valid plan comes first; the time left goes into better ones. Ctrl-C ends the search early and
    still writes the best plan found, with exit code 3; a second Ctrl-C, or one before there is a
    plan, writes nothing.
    """
    if was is not None and previous is None:
        raise click.UsageError("--was tells what the plan of --from was made for; give --from too")
    watching = Watching()
    with stoppable(watching) as ending:
        shop, shop_hash = read_scenario_file(scenario)
        replaced = read_plan_file(previous) if previous is not None else None
        before = read_scenario_file(was)[0] if was is not None else None
        must_be_writable(out)
        made = make_plan(
            shop,
            scenario_hash=shop_hash,
            made_at=datetime.now(UTC).replace(second=0, microsecond=0),
            seconds=seconds,
            seed=seed,
            previous=replaced,
            on_progress=watching.show,
            stop=ending.asked,
            crew=None if processes is None else Processes(processes),
        )
        data = to_json(encode_plan(made)).encode()
        stopped = ending.asked()
        # What is no file, such as a pipe, may keep the command waiting for its reader.
        if out.is_file() or not out.exists():
            ending.enter("writing")
        write_file(out, data)
        ending.enter("written")
        watching.clear()
        if stopped:
            watching.say(f"Stopped early; the best plan so far is written to {out}.")
        _summary(made)
        if before is not None and replaced is not None:
            tell(before, replaced, shop, made)
        elif replaced is not None:
            click.echo(totals(moves(shop, replaced, shop, made)))
            click.echo("--was SCENARIO, the one that the plan before was made for, tells each job and why.")
    if stopped:
        sys.exit(EXIT_STOPPED)


def _summary(made: Plan) -> None:
    late = sum(1 for job in made.jobs if job.late_min > 0)
    click.echo(
        f"{len(made.jobs)} jobs placed, {late} of them late, {len(made.unplaced)} not placed; "
        f"{made.late_cost:.2f} late hours; {made.seconds:.1f} s"
    )
    if made.lower_bound is not None:
        under, this = f"{made.lower_bound:.2f}", f"{made.late_cost:.2f}"
        best = "; none is better" if this == under else ""
        click.echo(f"no plan could be less than {under} late hours; this one is {this}{best}")
