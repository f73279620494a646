"""`soakline physics` as a user runs it."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from scheduler.cli import main
from scheduler.model import DryingRow
from scheduler.model.codec import encode_scenario, to_json
from tests.builders import a_dryer, a_feed, a_job, a_material, a_scenario, a_spool


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["physics", *map(str, arguments)])


def test_how_long_and_how_hot(tmp_path: Path) -> None:
    drawing = tmp_path / "dry.svg"
    result = run("dry", "PA6-CF", "--body", "80", "--shelf", "8", "--rh", "60", "--svg", drawing)
    assert result.exit_code == 0, result.output
    assert "8 h on the shelf at 60 %" in result.stdout
    assert re.search(r"^80 .*65 min", result.stdout, re.MULTILINE)
    assert re.search(r"^1.5 h at 80 °C\.$", result.stdout, re.MULTILINE)
    assert "data sheet and the oven's manual decide" in result.stdout
    assert "[8] A resin maker's open page" in result.stdout
    assert drawing.read_text(encoding="utf-8").startswith("<svg xmlns")


def test_a_cooler_run_keeps_the_reserve_of_the_recipe() -> None:
    lines = run("dry", "PC", "--body", "80", "--recipe", "110:6").stdout.splitlines()
    assert "16 h at 80 °C instead of 6 h at 110 °C: the spool's body stands only 80 °C." in lines


def test_no_temperature_does_it() -> None:
    result = run("dry", "PC", "--body", "60")
    assert result.exit_code == 0
    assert "No temperature here brings it to 0.02 %" in result.stdout


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("dry", "PC", "--rh", "140"), "relative humidity is 140 %"),
        (("dry", "PC", "--temp", "120", "--body", "80"), "hotter than the spool's body stands, 80 °C"),
        (("dry", "PC", "--diameter", "-1.75"), "diameter is -1.75 mm"),
        (("dry", "PC", "--room", "-273.15"), "0 K"),
        (("dry", "PC", "--body", "-300"), "absolute zero"),
        (("dry", "PC", "--body", "30"), "stands no drying"),
        (("dry", "PC", "--limit", "0"), "moisture to print at is 0 %"),
        (("dry", "PC", "--recipe", "hot"), "is no recipe"),
        (("dry", "PC", "--vacuum", "0"), "pressure is 0 Pa"),
        (("dry", "PC", "--shelf", "-2"), "hours on the shelf is -2 h"),
        (("dry", "PC", "--rh", "nan"), "must be a number"),
        (("dry", "cheese"), "no figures of water are known"),
        (("open", "PC", "--from", "0.05"), "dry it first"),
        (("open", "PC", "--rh", "-5"), "relative humidity is -5 %"),
        (("soak", "glass", "--thickness", "0", "--to", "140"), "thickness is 0 mm"),
        (("cool", "PEEK", "--thickness", "30", "--cap", "0"), "cap is 0 °C/min"),
        (("cool", "PEEK", "--thickness", "3", "--from", "190", "--release", "20"), "not above the room's"),
        (("fit", "heating", "nowhere.csv"), "can't be read"),
        (("week", "nowhere.json"), "nowhere.json"),
    ],
)
def test_nonsense_is_one_clear_message(arguments: tuple[str, ...], said: str) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert said in result.stderr
    assert "Traceback" not in result.output


def test_the_open_time_of_a_humid_day(tmp_path: Path) -> None:
    result = run("open", "PC", "--rh", "70", "--stated", "480", "--svg", tmp_path / "open.svg")
    assert result.exit_code == 0
    assert "Your 8 h at 50 % become 5 h 20 min at 70 %." in result.stdout
    assert "outermost strand" in result.stdout


def test_soak_and_cool() -> None:
    lump = run("soak", "aluminium", "--thickness", "8", "--to", "140", "--one-face").stdout
    assert lump.startswith("86 min until the middle") and "one lump" in lump
    lagging = run("soak", "PEEK", "--thickness", "40", "--to", "190", "--fan").stdout
    assert "its middle lags" in lagging
    cool = run("cool", "PEEK", "--thickness", "40", "--cap", "0.7", "--from", "190", "--release", "80").stdout
    assert "the material's own cap is the slower" in cool
    assert "left alone the chamber falls in" in cool


def test_a_log_is_fitted_and_a_lost_reach_told(tmp_path: Path) -> None:
    log, drawing = tmp_path / "log.csv", tmp_path / "fit.svg"
    rows = [f"{minute},{170 - 148 * math.exp(-minute / 46):.2f}" for minute in range(70)]
    log.write_text("minutes,temp_c\n" + "\n".join(rows), encoding="utf-8")
    result = run("fit", "heating", log, "--rated", "182", "--svg", drawing)
    assert result.exit_code == 0, result.output
    assert "time constant 46.0" in result.stdout
    assert "under the 182 °C on record" in result.stdout
    assert drawing.exists()
    falling = [f"{minute},{22 + 118 * math.exp(-minute / 70):.2f}" for minute in range(90)]
    log.write_text("minutes,temp_c\n" + "\n".join(falling), encoding="utf-8")
    result = run("fit", "cooling", log, "--room", "22")
    assert "time constant 70.0" in result.stdout and "22 (given)" in result.stdout
    log.write_text("minutes,temp_c\n0,22\n1,hot\n", encoding="utf-8")
    assert "line 3" in run("fit", "heating", log).stderr


def test_each_published_recipe_is_judged(tmp_path: Path) -> None:
    result = run("recipes")
    assert result.exit_code == 0
    lines = {line[:28].strip() for line in result.stdout.splitlines()}
    assert {"PC (filament)", "PEI (pellets)", "soluble support (filament)"} <= lines
    assert re.search(r"PC \(filament\).*reaches.*reaches", result.stdout)
    assert re.search(r"PLA \(filament\).*misses 6\.\d ×", result.stdout)


def a_shop(tmp_path: Path) -> Path:
    material = a_material(polymer="PC", drying=(DryingRow(110, 6, False),), open_time_min=None)
    shop = a_scenario(
        materials=(material,),
        dryers=(a_dryer(max_c=120.0),),
        spools=(a_spool(body_max_c=80.0, dried=False),),
        jobs=(a_job(feeds=(a_feed(),)),),
    )
    path = tmp_path / "shop.json"
    path.write_text(to_json(encode_scenario(shop)), encoding="utf-8")
    return path


def test_a_spool_on_a_soft_body_is_rescued(tmp_path: Path) -> None:
    result = run("rescue", a_shop(tmp_path), "--seconds", "0")
    assert result.exit_code == 0, result.output
    assert "h at 80 °C in D1 instead of 6 h at 110 °C: a spool's body stands only 80 °C" in result.stdout
    assert "1 job rescued: J1" in result.stdout
    assert re.search(r"jobs placed +0 of 1 +1 of 1", result.stdout)


def test_a_humid_week_is_looked_at(tmp_path: Path) -> None:
    result = run("week", a_shop(tmp_path), "--seconds", "0")
    assert result.exit_code == 0, result.output
    assert "turn late: none" in result.stdout and "at 70 %" in result.stdout


def test_weighings_give_a_factor_and_bad_lines_are_told(tmp_path: Path) -> None:
    file = tmp_path / "weighings.csv"
    head = "polymer,before_g,after_g,body_g,temp_c,hours\n"
    file.write_text(head + "PA6,1220,1207,220,80,6\nPA6,1220,1203,220,80,10\nPA6,1220,1200.5,220,80,14\n")
    result = run("weigh", file)
    assert result.exit_code == 0, result.output
    assert re.search(r"coil factor \d", result.stdout)
    file.write_text(head + "PA6,1220,1300,220,80,6\nPC,a,b,c,d,e\n")
    result = run("weigh", file)
    assert result.exit_code == 2
    assert "line 2" in result.stderr and "line 3" in result.stderr
