"""`soakline check` as a shop runs it."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner

from scheduler.cli import main
from tests.builders import WORKED_EXAMPLE

SCENARIO, PLAN = str(WORKED_EXAMPLE / "scenario.json"), str(WORKED_EXAMPLE / "plan.json")


def test_a_valid_plan_gets_one_line_and_exit_code_0() -> None:
    done = CliRunner().invoke(main, ["check", SCENARIO, PLAN])
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith("valid: 10 jobs placed, 1 of them late, 4 not placed; 186.23 late hours")
    assert "236 min of people, 196 min of preheating" in done.stdout


def test_each_breach_gets_a_line_and_exit_code_1(tmp_path: Path) -> None:
    raw = json.loads(Path(PLAN).read_text(encoding="utf-8"))
    raw["attended_min"] = 1
    raw["jobs"] = [job for job in raw["jobs"] if job["job"] != "B"]
    bad = tmp_path / "plan.json"
    bad.write_text(json.dumps(raw), encoding="utf-8")
    done = CliRunner().invoke(main, ["check", SCENARIO, str(bad)])
    assert done.exit_code == 1
    lines = done.stdout.splitlines()
    assert "complete: job B: it is neither placed nor unplaced" in lines
    assert any(line.startswith("cost: plan: attended_min is 1") for line in lines)
    assert "not valid" in done.stderr


def test_a_bad_file_gets_its_offences_and_exit_code_2(tmp_path: Path) -> None:
    bad = tmp_path / "plan.json"
    bad.write_text('{"schema": "soakline.plan/9"}', encoding="utf-8")
    for files in ([SCENARIO, str(bad)], [str(tmp_path / "none.json"), PLAN]):
        done = CliRunner().invoke(main, ["check", *files])
        assert done.exit_code == 2
        assert done.stdout == "" and done.stderr and "Traceback" not in done.stderr
