"""The `soakline` command: a group that loads each command only when it is asked for."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Sequence
from importlib.metadata import EntryPoint, entry_points
from typing import Any

import click

from scheduler.model.errors import SoaklineError

#: Commands of the core: their module in this package, their name in it, and their line in the
#: help, kept here so that `soakline --help` imports none of them.
CORE: dict[str, tuple[str, str, str]] = {
    "plan": ("plan", "plan", "Plan the shop of a scenario file and write a plan file."),
    "check": ("check", "check", "Judge a plan file against its scenario, rule by rule."),
    "moves": ("moves", "moves", "Say what a new plan moves of the old one, and why."),
    "whatif": ("whatif", "whatif", "Say what would save a job, or what another machine would cost."),
    "match": ("match", "match", "Say which printer fits which job, and why the others don't."),
    "forecast": ("forecast", "forecast", "Say how sure the dates of a plan file are."),
    "quote": ("quote", "quote", "Find dates for customers, hold them, make orders of them."),
    "import": ("import_", "import_", "Record the shop of a scenario file in the database."),
    "export": ("export", "export", "Write the recorded shop as a scenario file."),
    "orders": ("orders", "orders", "Add and change orders from a CSV or XLSX sheet."),
    "people": ("people", "people", "Say who may sign in: people, passwords, PINs, links."),
    "physics": ("physics", "physics", "Work out drying, open time, soak and cool-down; fit a log."),
    "doctor": ("doctor", "doctor", "Look whether everything that Soakline stands on is in order."),
}

#: Help lines of the commands that other rooms bring, for the same reason.
BROUGHT: dict[str, str] = {
    "demo": "Show a made-up shop in the browser: record, plan and serve it.",
    "serve": "Serve the pages of the recorded shop.",
    "demo-scenario": "Write a made-up scenario file of a given size.",
}

ENTRY_POINT_GROUP = "soakline.commands"

#: Exit code for bad input and for anything else that a person has to put right first.
EXIT_REFUSED = 2


def _brought() -> dict[str, EntryPoint]:
    return {point.name: point for point in entry_points(group=ENTRY_POINT_GROUP)}


class _Commands(click.Group):
    """A group that knows its commands by name and loads one only to run it or show its help."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        others = [name for name in sorted(_brought()) if name not in CORE]
        return [*CORE, *others]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name in CORE:
            module, name, _ = CORE[cmd_name]
            command = getattr(importlib.import_module(f"scheduler.cli.{module}"), name)
        elif (point := _brought().get(cmd_name)) is not None:
            command = point.load()
        else:
            return None
        if not isinstance(command, click.Command):
            raise TypeError(f"{cmd_name} is not a click command")
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        lines = [
            (name, CORE[name][2] if name in CORE else BROUGHT.get(name, ""))
            for name in self.list_commands(ctx)
        ]
        with formatter.section("Commands"):
            formatter.write_dl(lines)

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        **extra: Any,
    ) -> Any:
        """Run a command; an expected error becomes its lines on standard error and exit code 2."""
        try:
            return super().main(args, prog_name, complete_var, standalone_mode, **extra)
        except SoaklineError as error:
            if not standalone_mode:
                raise
            click.echo(str(error), err=True)
            sys.exit(EXIT_REFUSED)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="soakline", prog_name="soakline")
def main() -> None:
    """Plans the week of a print shop that runs hot polymers.

    Soakline decides what is dried where and when, which machine heats for which job, and when
    people are needed. It plans and records; it switches no heater.

    Files are scenario and plan files in JSON. The recorded shop lives in the database that
    SOAKLINE_DATABASE_URL names, else in soakline.db in the working directory.

    Exit codes: 0 fine, 1 a finding (a broken rule, something for a person to do), 2 bad input, 3 stopped
    early with the best plan written, 128 and the signal's number stopped with nothing written.
    """
