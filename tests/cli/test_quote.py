"""`soakline quote` from draft to order."""

from __future__ import annotations

import json
from datetime import UTC, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from scheduler.cli import main
from scheduler.office.quotes.promises import record_print_end
from scheduler.store import PrintEnd, Record
from tests.builders import at
from tests.office.quotes.conftest import publish, small_shop

LINE = {
    "part": "bracket",
    "quantity": 1,
    "material": "ABS",
    "size_mm": [40, 40, 30],
    "print_min": 300,
    "grams": 60,
    "nozzle_mm": [0.4],
}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a planned shop in it, whose clock stands at its first minute."""
    record = Record(f"sqlite:///{tmp_path / 'shop.sqlite3'}")
    record.migrate()
    publish(record, small_shop())
    record.close()
    monkeypatch.setenv("SOAKLINE_DATABASE_URL", f"sqlite:///{tmp_path / 'shop.sqlite3'}")
    monkeypatch.setattr("scheduler.office.clock.system_clock", lambda: at(0))
    (tmp_path / "ask.json").write_text(json.dumps({"lines": [LINE]}), "utf-8")
    return tmp_path


def run(*words: str) -> Result:
    return CliRunner().invoke(main, ["quote", *words])


def test_a_request_goes_its_whole_way(folder: Path) -> None:
    assert run("draft", str(folder / "ask.json"), "--customer", "Marlow Pumps").output == "Q-1\n"
    assert "Marlow Pumps: 1 × bracket" in run("list", "marlow").output
    answered = run("answer", "1").output
    assert "as planned: planned" in answered and "EUR" in answered
    until = (at(0) + timedelta(minutes=30)).astimezone(UTC)
    held = run("hold", "1", "--until", f"{until:%Y-%m-%dT%H:%M}+00:00", "--chance", "50")
    assert held.output.startswith("Q-1 is held until"), held.output
    assert "is order Q-1" in run("accept", "1").output
    assert run("expire").output == "no hold has ended\n"
    assert run("decline", "1").exit_code == 2


def test_bad_input_is_one_clear_message(folder: Path) -> None:
    (folder / "bad.json").write_text('{"lines": [{"part": "x"}]}', "utf-8")
    for words, told in (
        (("draft", str(folder / "bad.json"), "--customer", "M"), "no request file"),
        (("draft", str(folder / "none.json"), "--customer", "M"), "can't be read"),
        (("answer", "7"), "there is no quote Q-7"),
        (("hold", "7", "--until", "noon"), "--until noon"),
    ):
        found = run(*words)
        assert found.exit_code == 2 and told in found.output, found.output
        assert "Traceback" not in found.output


def test_what_was_learnt_and_what_became_of_overtime_is_told(folder: Path) -> None:
    record = Record(f"sqlite:///{folder / 'shop.sqlite3'}")
    for n in range(40):
        end = PrintEnd(at(0), f"old-{n}", "P1", "ABS", 100.0, 110.0, False)
        record_print_end(record, lambda: at(0), end)
    record.close()
    run("draft", str(folder / "ask.json"), "--customer", "Marlow Pumps")
    assert "Prints of ABS are planned" in run("answer", "1").output
    until = (at(0) + timedelta(minutes=30)).astimezone(UTC)
    run("hold", "1", "--until", f"{until:%Y-%m-%dT%H:%M}+00:00", "--way", "sooner")
    declined = run("decline", "1").output.splitlines()
    assert declined[0] == "Q-1 is declined"
    assert declined[1].startswith("Q-1: Overtime ") and declined[1].endswith("is taken back.")
