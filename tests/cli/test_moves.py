"""`soakline moves` and `soakline plan --from --was` as a shop runs them."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner

from scheduler.cli import main
from tests.builders import WORKED_EXAMPLE

SCENARIO, PLAN = str(WORKED_EXAMPLE / "scenario.json"), str(WORKED_EXAMPLE / "plan.json")


def test_equal_plans_move_nothing() -> None:
    done = CliRunner().invoke(main, ["moves", SCENARIO, PLAN, SCENARIO, PLAN])
    assert done.exit_code == 0, done.output
    assert done.stdout == "Nothing moves: 10 jobs keep machine and time.\n"


def test_a_machine_down_is_told_as_the_cause(tmp_path: Path) -> None:
    raw = json.loads(Path(SCENARIO).read_text(encoding="utf-8"))
    plan = json.loads(Path(PLAN).read_text(encoding="utf-8"))
    hit = max(plan["jobs"], key=lambda job: job["steps"][0]["start"])
    printer = next(one for one in raw["printers"] if one["id"] == hit["printer"])
    printer["downtime"].append(
        {"start": hit["steps"][0]["start"], "end": "2031-03-30T06:00:00+00:00", "reason": "heater"}
    )
    new, out = tmp_path / "new.json", tmp_path / "plan.json"
    new.write_text(json.dumps(raw), encoding="utf-8")
    asked = ["plan", str(new), "--out", str(out), "--seconds", "0", "--from", PLAN]
    told = CliRunner().invoke(main, [*asked, "--was", SCENARIO])
    assert told.exit_code == 0, told.output
    assert f"{hit['job']}: {hit['printer']} " in told.stdout
    assert f"{hit['printer']} is down" in told.stdout and "(heater)" in told.stdout
    again = CliRunner().invoke(main, ["moves", SCENARIO, PLAN, str(new), str(out)])
    assert again.exit_code == 0
    # The plan's own two lines, its figures and the bound, come before what moves.
    assert again.stdout.splitlines() == told.stdout.splitlines()[2:]
    less = CliRunner().invoke(main, asked)
    assert "--was SCENARIO" in less.stdout


def test_the_old_shop_comes_first(tmp_path: Path) -> None:
    raw = json.loads(Path(SCENARIO).read_text(encoding="utf-8"))
    raw["site"]["plan_start"] = "2031-03-03T05:00:00+00:00"
    raw["jobs"] = [job for job in raw["jobs"] if job["progress"] is None]
    early = tmp_path / "early.json"
    early.write_text(json.dumps(raw), encoding="utf-8")
    done = CliRunner().invoke(main, ["moves", SCENARIO, PLAN, str(early), PLAN])
    assert done.exit_code == 2
    assert "Traceback" not in done.output


def test_was_without_from_is_refused(tmp_path: Path) -> None:
    asked = ["plan", SCENARIO, "--out", str(tmp_path / "plan.json"), "--was", SCENARIO]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 2 and "give --from too" in done.stderr
