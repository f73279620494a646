"""`soakline physics rescue` and `week`: what water and humidity do to a shop's plan."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.cli.physics.words import say, table

if TYPE_CHECKING:
    from scheduler.model import Plan
    from scheduler.office.water import Comparison

_seconds = click.option(
    "--seconds", default=5.0, show_default=True, type=click.FloatRange(min=0, max=3600),
    help="Time for each of the three plans.",
)  # fmt: skip
_seed = click.option("--seed", default=1, show_default=True, type=int, help="Seed of the search.")


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option("--rh", "humidity", default=50.0, show_default=True, help="Relative humidity of the shop, %.")
@click.option("--body", "body_c", type=float, help="As if no spool's body stood more than this, °C.")
@_seconds
@_seed
@click.option("--quiet", is_flag=True, help="Only the figures, not each row that the model adds.")
def rescue(
    scenario: Path, humidity: float, body_c: float | None, seconds: float, seed: int, quiet: bool
) -> None:
    """Plan SCENARIO without and with the model's rows: jobs rescued, hours saved."""
    from scheduler.model.codec import read_scenario_file
    from scheduler.office.water import compare, with_bodies
    from scheduler.physics.derive import Surroundings, derive

    shop, _ = read_scenario_file(scenario)
    if body_c is not None:
        shop = with_bodies(shop, body_c)
    derived = derive(shop, Surroundings(humidity))
    if not quiet:
        say([note.text for note in derived.notes] or ["the model has nothing to add to this shop"])
        say([""])
    found = compare(shop, derived.scenario, seconds=seconds, seed=seed)
    _tell(found, ("", "shop's rows alone", "with the model"))
    say([""])
    gained = sorted(found.rescued)
    say(
        [
            f"{len(gained)} job{'' if len(gained) == 1 else 's'} rescued"
            + (f": {', '.join(gained)}" if gained else "")
        ]
    )
    if found.lost:
        say([f"{len(found.lost)} jobs lost: {', '.join(sorted(found.lost))}"])
    saved = found.before.late_cost - found.after.late_cost
    say([f"{saved:.1f} weighted late hours saved; {found.drying_saved_h:.1f} dryer hours saved"])


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option("--rh", "humidity", default=70.0, show_default=True, help="Relative humidity to look at, %.")
@click.option("--usual", default=50.0, show_default=True, help="Humidity that it is compared with, %.")
@_seconds
@_seed
def week(scenario: Path, humidity: float, usual: float, seconds: float, seed: int) -> None:
    """What a humid (or dry) week does to the plan of SCENARIO: jobs that turn late or find no place."""
    from scheduler.model.codec import read_scenario_file
    from scheduler.office.water import compare
    from scheduler.physics.derive import Surroundings, derive

    shop, _ = read_scenario_file(scenario)
    calm, humid = (derive(shop, Surroundings(each, longer_open=each < 50)) for each in (usual, humidity))
    say([note.text for note in humid.notes if note.kind == "open time"])
    found = compare(calm.scenario, humid.scenario, seconds=seconds, seed=seed)
    _tell(found, ("", f"at {usual:g} %", f"at {humidity:g} %"))
    for title, jobs in (
        ("turn late", found.turned_late),
        ("find no place", found.lost),
        ("find a place", found.rescued),
        ("no longer late", found.turned_timely),
    ):
        say([f"{title}: {', '.join(sorted(jobs)) if jobs else 'none'}"])


def _tell(found: Comparison, head: tuple[str, str, str]) -> None:
    columns = [
        (
            f"{len(plan.jobs)} of {len(found.shop.jobs)}",
            str(sum(1 for job in plan.jobs if job.late_min > 0)),
            str(_unfit(plan)),
            f"{plan.late_cost:.1f}",
            f"{found.dryer_hours(plan):.1f}",
        )
        for plan in (found.before, found.after)
    ]
    names = ("jobs placed", "jobs late", "jobs that nothing fits", "weighted late hours", "dryer hours")
    say(table([head, *zip(names, *columns, strict=True)]))
    chance = abs(found.again.late_cost - found.before.late_cost)
    others = len(found.late(found.again) ^ found.late(found.before))
    say([f"(by chance alone, with another seed: {chance:.1f} late hours and {others} late jobs differ)"])


def _unfit(plan: Plan) -> int:
    beside = {"stock", "horizon", "pinned"}
    return sum(1 for job in plan.unplaced if not {reason.check for reason in job.reasons} <= beside)
