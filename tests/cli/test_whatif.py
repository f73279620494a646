"""`soakline whatif` as a shop runs it."""

from __future__ import annotations

from click.testing import CliRunner

from scheduler.cli import main
from tests.builders import WORKED_EXAMPLE

SCENARIO, PLAN = str(WORKED_EXAMPLE / "scenario.json"), str(WORKED_EXAMPLE / "plan.json")


def test_the_late_job_of_the_worked_example_is_tried() -> None:
    done = CliRunner().invoke(main, ["whatif", SCENARIO, PLAN, "D", "--rounds", "0"])
    assert done.exit_code == 0, done.output
    lines = done.stdout.splitlines()
    assert lines[0].startswith("Today: as planned: on ")
    assert any("planned again, this job put in first" in line for line in lines)


def test_other_machines_and_refusals() -> None:
    done = CliRunner().invoke(main, ["whatif", SCENARIO, PLAN, "D", "--alternatives", "--rounds", "0"])
    assert done.exit_code == 0, done.output
    refused = CliRunner().invoke(main, ["whatif", SCENARIO, PLAN, "nobody"])
    assert refused.exit_code == 2
    assert refused.stderr == "there is no job nobody in this shop\n"
