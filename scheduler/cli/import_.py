"""`soakline import`."""

from __future__ import annotations

import click

from scheduler.cli.record import open_record


@click.command("import")
@click.argument("scenario", type=click.Path())
def import_(scenario: str) -> None:
    """Record the shop of the file SCENARIO.

    It takes the place of the shop recorded before. Plans of that shop stay in the record, but none
    of them stands any more. A file with offences is refused whole.
    """
    from scheduler.model.codec import read_scenario_file
    from scheduler.office.clock import system_clock
    from scheduler.office.shop import import_scenario

    shop, _ = read_scenario_file(scenario)
    record = open_record(create=True)
    import_scenario(record, system_clock, shop)
    click.echo(
        f"recorded {shop.site.name} in {record.place}: {len(shop.printers)} printers,"
        f" {len(shop.materials)} materials, {len(shop.spools)} spools, {len(shop.jobs)} jobs"
    )
