"""`soakline physics`: water in filament and heat in chambers, worked out for anyone."""

from __future__ import annotations

import click

from scheduler.cli.physics.heat import cool, fit, soak
from scheduler.cli.physics.moisture import dry, open_, recipes, weigh
from scheduler.cli.physics.shop import rescue, week


@click.group()
def physics() -> None:
    """Work out drying, open time, soak and cool-down; fit a chamber's log.

    Figures of polymers come with their ranges and sources. They are no data sheet: your supplier's data
    sheet, the oven's manual and your own weighings decide.
    """


for _command in (dry, open_, soak, cool, fit, recipes, weigh, rescue, week):
    physics.add_command(_command)
