"""``soakline demo-scenario``."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from click.testing import CliRunner

from demo_fleet.commands import demo_scenario
from demo_fleet.generator import generate
from demo_fleet.shop import demo_shop
from scheduler.cli import main
from scheduler.model.codec import decode_scenario


def test_it_prints_a_scenario_that_reads_back() -> None:
    result = CliRunner().invoke(demo_scenario, ["--size", "S", "--seed", "7"])
    assert result.exit_code == 0, result.output
    assert decode_scenario(result.stdout) == generate("S", 7)


def test_it_writes_the_demo_shop_of_a_day(tmp_path: Path) -> None:
    out = tmp_path / "shop.json"
    result = CliRunner().invoke(demo_scenario, ["--date", "2026-07-27", "--out", str(out)])
    assert result.exit_code == 0, result.output
    assert "18 printers, 110 jobs, 45 spools" in result.stderr
    assert decode_scenario(out.read_bytes()) == demo_shop(date(2026, 7, 27))


def test_a_date_goes_with_the_demo_shop_only() -> None:
    result = CliRunner().invoke(demo_scenario, ["--size", "M", "--date", "2026-07-27"])
    assert result.exit_code == 2
    assert "--date is for the demo shop" in result.stderr


def test_a_place_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    out = tmp_path / "missing" / "shop.json"
    result = CliRunner().invoke(main, ["demo-scenario", "--size", "S", "--out", str(out)])
    assert result.exit_code == 2
    assert str(out) in result.stderr and "No such file" in result.stderr
