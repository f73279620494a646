"""`soakline plan`: a scenario in, a plan out."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import click

from scheduler.model.codec import encode_plan, read_plan_file, read_scenario_file, to_json
from scheduler.planning import Progress, make_plan


def _show(progress: Progress) -> None:
    late = "–" if progress.late_cost is None else f"{progress.late_cost:.1f}"
    click.echo(
        f"\r{progress.seconds:6.1f} s  {late} late hours  {progress.doing} "
        f"({progress.placed} of {progress.jobs})\x1b[K",
        nl=False,
        err=True,
    )


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
def plan(scenario: Path, out: Path, seconds: float, seed: int, previous: Path | None) -> None:
    """Plan the jobs of SCENARIO and write the plan to a file.

    A valid plan comes first; the time left goes into better ones.
    """
    shop, shop_hash = read_scenario_file(scenario)
    replaced = read_plan_file(previous) if previous is not None else None
    terminal = click.get_text_stream("stderr").isatty()
    made_at = datetime.now(UTC).replace(microsecond=0)
    made_at -= timedelta(seconds=made_at.second)
    made = make_plan(
        shop,
        scenario_hash=shop_hash,
        made_at=made_at,
        seconds=seconds,
        seed=seed,
        previous=replaced,
        on_progress=_show if terminal else None,
    )
    if terminal:
        click.echo("\r\x1b[K", nl=False, err=True)
    try:
        out.write_text(to_json(encode_plan(made)), encoding="utf-8")
    except OSError as error:
        raise click.UsageError(f"{out} can't be written: {error.strerror}") from error
    late = sum(1 for job in made.jobs if job.late_min > 0)
    click.echo(
        f"{len(made.jobs)} jobs placed, {late} of them late, {len(made.unplaced)} not placed; "
        f"{made.late_cost:.2f} late hours; {made.seconds:.1f} s"
    )
