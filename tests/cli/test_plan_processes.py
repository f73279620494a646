"""`soakline plan --processes`: parts of a shop improved by processes of their own."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from demo_fleet import generate
from scheduler.checking import check
from scheduler.cli import main
from scheduler.model.codec import encode_scenario, read_plan_file, read_scenario_file, to_json
from scheduler.planning import make
from scheduler.planning.parts.processes import Processes


def test_processes_plan_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(make, "LARGE", 0)
    begun: list[int] = []
    begin = Processes.begin
    monkeypatch.setattr(
        Processes, "begin", lambda crew, ground: (begun.append(crew.size), begin(crew, ground))
    )
    shop, out = tmp_path / "shop.json", tmp_path / "plan.json"
    shop.write_bytes(to_json(encode_scenario(generate("S", 3))).encode())
    arguments = ["plan", str(shop), "--out", str(out), "--seconds", "3", "--processes", "2"]
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 0, result.output
    assert begun == [2]
    scenario, hashed = read_scenario_file(shop)
    assert not check(scenario, read_plan_file(out), hashed)


def test_a_crew_of_nobody_is_refused(tmp_path: Path) -> None:
    arguments = ["plan", "shop.json", "--out", str(tmp_path / "plan.json"), "--processes", "0"]
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 2 and "0 is not in the range 1<=x<=64" in result.stderr
