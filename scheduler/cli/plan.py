"""`soakline plan`: a scenario in, a plan out."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from threading import Event
from types import FrameType

import click

from scheduler.cli.files import must_be_writable, write_file
from scheduler.cli.moves import tell
from scheduler.model import Plan
from scheduler.model.codec import encode_plan, read_plan_file, read_scenario_file, to_json
from scheduler.planning import Progress, make_plan
from scheduler.planning.moves import moves
from scheduler.planning.moves_words import totals
from scheduler.planning.parts.processes import Processes


def _show(progress: Progress) -> None:
    late = "–" if progress.late_cost is None else f"{progress.late_cost:.1f}"
    bound = "" if progress.lower_bound is None else f" (never under {progress.lower_bound:.1f})"
    click.echo(
        f"\r{progress.seconds:6.1f} s  {late} late hours{bound}  {progress.doing}, "
        f"{progress.placed} of {progress.jobs} jobs placed\x1b[K",
        nl=False,
        err=True,
    )


@contextmanager
def _stoppable() -> Iterator[Event]:
    """An event that Ctrl-C sets; a second Ctrl-C ends the command as usual."""
    stop = Event()

    def on_interrupt(number: int, frame: FrameType | None) -> None:
        if stop.is_set():
            raise KeyboardInterrupt
        stop.set()

    before = signal.signal(signal.SIGINT, on_interrupt)
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, before)


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
    still writes the best plan found.
    """
    shop, shop_hash = read_scenario_file(scenario)
    if was is not None and previous is None:
        raise click.UsageError("--was tells what the plan of --from was made for; give --from too")
    replaced = read_plan_file(previous) if previous is not None else None
    before = read_scenario_file(was)[0] if was is not None else None
    terminal = sys.stderr.isatty()
    must_be_writable(out)
    with _stoppable() as stop:
        made = make_plan(
            shop,
            scenario_hash=shop_hash,
            made_at=datetime.now(UTC).replace(second=0, microsecond=0),
            seconds=seconds,
            seed=seed,
            previous=replaced,
            on_progress=_show if terminal else None,
            stop=stop.is_set,
            crew=None if processes is None else Processes(processes),
        )
    write_file(out, to_json(encode_plan(made)).encode())
    if terminal:
        click.echo("\r\x1b[K", nl=False, err=True)
    _summary(made)
    if before is not None and replaced is not None:
        tell(before, replaced, shop, made)
    elif replaced is not None:
        click.echo(totals(moves(shop, replaced, shop, made)))
        click.echo("--was SCENARIO, the one that the plan before was made for, tells each job and why.")


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
