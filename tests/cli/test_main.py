"""The command line as a whole: its help, what it loads, how it says no."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from scheduler.cli import BROUGHT, CORE, main
from scheduler.model.errors import SoaklineError

ROOT = Path(__file__).parents[2]


def test_help_names_every_command_with_a_line() -> None:
    result = CliRunner().invoke(main, ["--help"])
    assert result.exit_code == 0
    for name, (_, _, line) in CORE.items():
        assert f"  {name} " in result.output
        assert line.split()[0] in result.output


@pytest.mark.parametrize("name", CORE)
def test_every_core_command_has_help_that_begins_with_its_line(name: str) -> None:
    result = CliRunner().invoke(main, [name, "--help"])
    assert result.exit_code == 0
    assert result.output.startswith("Usage: main " + name)


@pytest.mark.parametrize("name", BROUGHT)
def test_other_rooms_bring_their_commands(name: str) -> None:
    command = main.get_command(click.Context(main), name)
    if command is None:
        pytest.skip("Soakline is not installed, so that entry points are unknown")
    assert command.help


LOADED = """
import sys
from scheduler.cli import main
main(["--help"], standalone_mode=False)
heavy = {"alembic", "flask", "marshmallow", "numpy", "openpyxl", "sqlalchemy"} & set(sys.modules)
assert not heavy, heavy
"""


def test_help_loads_nothing_heavy() -> None:
    done = subprocess.run([sys.executable, "-c", LOADED], cwd=ROOT, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")


def test_unknown_commands_are_a_matter_of_usage() -> None:
    result = CliRunner().invoke(main, ["bake"])
    assert result.exit_code == 2
    assert "No such command 'bake'" in result.stderr


def test_expected_errors_are_lines_on_standard_error(monkeypatch: pytest.MonkeyPatch) -> None:
    @click.command()
    def failing() -> None:
        raise SoaklineError("first: 3 is too many\nsecond: 4 is too few")

    monkeypatch.setattr(main, "get_command", lambda context, name: failing)
    result = CliRunner().invoke(main, ["plan"])
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == "first: 3 is too many\nsecond: 4 is too few\n"
