"""`soakline match` as a user runs it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from scheduler.cli import main
from scheduler.model.codec import encode_scenario, hash_text, to_json
from tests.builders import WORKED_EXAMPLE, a_printer, a_scenario

SCENARIO = WORKED_EXAMPLE / "scenario.json"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["match", *map(str, arguments)])


def test_table_of_all_jobs_and_why_one_fits_nothing() -> None:
    result = run(SCENARIO)
    assert result.exit_code == 0, result.stderr
    lines = result.stdout.splitlines()
    assert lines[0] == "worked example: 14 jobs, 3 printers"
    assert "B    PLA        3    P1, P2, P3" in lines
    assert "X    HOT        0    nothing fits, see below" in lines
    assert "    Nearest miss: P1, which fails in qualification." in lines
    assert "    P2, P3: head H1 reaches 300 °C, HOT asks for at least 350 °C" in lines


def test_table_of_one_job_has_every_machine_and_both_figures() -> None:
    result = run(SCENARIO, "--job", "A")
    assert result.exit_code == 0
    lines = [line.split() for line in result.stdout.splitlines()]
    assert ["P2", "chamber", "90", "80"] in [line[:4] for line in lines]
    assert "P1       all pass" in result.stdout and "fits: H1 with n06h + H2 with n06" in result.stdout
    assert lines[-1] == ["1", "of", "3", "printers", "fits."]


def test_one_job_that_nothing_fits_names_the_nearest() -> None:
    lines = run(SCENARIO, "--job", "X").stdout.splitlines()
    assert lines[-2:] == [
        "0 of 3 printers fit.",
        "Nearest miss: P1, which fails in qualification.",
    ]


def test_json_of_all_jobs() -> None:
    found = json.loads(run(SCENARIO, "--json").stdout)
    assert found["schema"] == "soakline.match/1"
    assert found["scenario_hash"] == hash_text(SCENARIO.read_text(encoding="utf-8"))
    jobs = {entry["job"]: entry for entry in found["jobs"]}
    assert len(jobs) == 14
    assert jobs["D"] == {"job": "D", "fits": True, "printers": ["P2"], "nearest": None, "reasons": []}
    assert jobs["X"]["nearest"] == "P1" and not jobs["X"]["fits"] and jobs["X"]["printers"] == []
    assert {
        "check": "hot_end",
        "printer": "P2",
        "head": "H1",
        "nozzle": "n06h",
        "asked": 350,
        "there": 300,
        "text": "head H1 reaches 300 °C, HOT asks for at least 350 °C",
    } in jobs["X"]["reasons"]


def test_json_of_one_job_has_its_machines() -> None:
    (entry,) = json.loads(run(SCENARIO, "--job", "A", "--json").stdout)["jobs"]
    machines = {machine["printer"]: machine for machine in entry["machines"]}
    assert list(machines) == ["P1", "P2", "P3"]
    assert machines["P1"]["fits"] and machines["P1"]["reasons"] == []
    assert machines["P1"]["ways"][0] == [
        {"head": "H1", "nozzle": "n06h"},
        {"head": "H2", "nozzle": "n06"},
    ]
    assert machines["P3"]["ways"] == [] and machines["P3"]["reasons"][-1]["check"] == "heads"


def test_an_unknown_job_is_one_clear_line() -> None:
    result = run(SCENARIO, "--job", "XX")
    assert result.exit_code == 2 and result.stdout == ""
    assert result.stderr == f"{SCENARIO}: no job has the id 'XX' among 14; near it: X\n"


@pytest.mark.parametrize("options", [(), ("--json",), ("--job", "A")])
def test_a_bad_file_is_told_and_nothing_else(tmp_path: Path, options: tuple[str, ...]) -> None:
    bad = tmp_path / "bad.json"
    bad.write_text(SCENARIO.read_text(encoding="utf-8").replace('"print_min": 61', '"print_min": -4'))
    result = run(bad, *options)
    assert result.exit_code == 2 and result.stdout == ""
    assert "print_min" in result.stderr and "-4" in result.stderr
    assert "Traceback" not in result.stderr


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    result = run(tmp_path / "none.json")
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1 and "none.json" in result.stderr


def test_many_printers_are_counted_beyond_the_first(tmp_path: Path) -> None:
    path = tmp_path / "many.json"
    fleet = [a_printer(f"P{n:02}") for n in range(60)]
    path.write_text(to_json(encode_scenario(a_scenario(printers=fleet))), encoding="utf-8")
    result = run(path)
    assert result.exit_code == 0
    assert "P06, P07 and 52 more" in result.stdout
    assert result.stdout.endswith("Every job fits something.\n")
    cold = [a_printer(f"P{n:02}", bed_max_c=30.0) for n in range(60)]
    path.write_text(to_json(encode_scenario(a_scenario(printers=cold))), encoding="utf-8")
    result = run(path)
    assert "    40 more printers fail in: bed" in result.stdout
