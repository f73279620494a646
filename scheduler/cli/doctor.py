"""`soakline doctor`."""

from __future__ import annotations

import os
import sys

import click


@click.command()
def doctor() -> None:
    """Look whether everything that Soakline stands on is in order.

    Changes nothing. Exit code 1 if something needs a person.
    """
    from scheduler.office.health import examine

    findings = examine(os.environ)
    for finding in findings:
        click.echo(f"{'fine' if finding.fine else 'look'}  {finding.text}")
    if not all(finding.fine for finding in findings):
        sys.exit(1)
