"""`soakline export`."""

from __future__ import annotations

from pathlib import Path

import click

from scheduler.cli.record import open_record


@click.command()
@click.option(
    "--out", type=click.Path(dir_okay=False, path_type=Path), help="File to write; else standard output."
)
def export(out: Path | None) -> None:
    """Write the recorded shop as a scenario file."""
    from scheduler.cli.files import write_file
    from scheduler.model.codec import encode_scenario, to_json
    from scheduler.office.shop import export_scenario

    text = to_json(encode_scenario(export_scenario(open_record())))
    if out is None:
        click.echo(text, nl=False)
    else:
        write_file(out, text.encode())
        click.echo(f"wrote {out}")
