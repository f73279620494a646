"""`soakline forecast` on files."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner

from scheduler.cli import main
from tests.builders import WORKED_EXAMPLE

FILES = [str(WORKED_EXAMPLE / "scenario.json"), str(WORKED_EXAMPLE / "plan.json")]


def test_orders_and_jobs_are_listed_the_least_sure_first() -> None:
    told = CliRunner().invoke(main, ["forecast", *FILES, "--replications", "50"])
    assert told.exit_code == 0, told.output
    lines = told.output.splitlines()
    assert lines[0].split()[:3] == ["order", "on", "time"]
    chances = [int(line.split()[1]) for line in lines[1:] if "%" in line]
    assert chances and chances == sorted(chances)
    by_job = CliRunner().invoke(main, ["forecast", *FILES, "--jobs", "--replications", "50"])
    planned = json.loads(Path(FILES[1]).read_text("utf-8"))["jobs"]
    assert len(by_job.stdout.splitlines()) == 1 + len(planned)
    again = CliRunner().invoke(main, ["forecast", *FILES, "--replications", "50"])
    assert again.output == told.output


def test_a_plan_that_breaks_a_rule_is_refused(tmp_path: Path) -> None:
    plan = json.loads(Path(FILES[1]).read_text("utf-8"))
    plan["attended_min"] += 7
    broken = tmp_path / "plan.json"
    broken.write_text(json.dumps(plan), "utf-8")
    told = CliRunner().invoke(main, ["forecast", FILES[0], str(broken)])
    assert told.exit_code == 2
    assert "breaks" in told.stderr and "Traceback" not in told.output
    missing = CliRunner().invoke(main, ["forecast", FILES[0], str(tmp_path / "none.json")])
    assert missing.exit_code == 2 and "none.json" in missing.stderr
