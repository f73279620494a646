"""The benchmarks run, so that nobody finds them broken when they are wanted."""

from __future__ import annotations

from pathlib import Path

from demo_fleet import generate
from tests.bench import board
from tests.bench.planning import apart, shops, sums


def test_a_shop_is_measured_in_a_process_of_its_own() -> None:
    rows = [apart("S1", method, 0.0) for method in ("earliest due", "ours, 0 s")]
    assert [row["shop"] for row in rows] == ["S1", "S1"]
    assert all(row["valid"] == "yes" and float(str(row["late hours"])) > 0 for row in rows)
    told = sums(rows)
    assert len(told) == 2 and all(line.startswith("S, 1 shops") for line in told)


def test_words_for_many_shops_are_spelt_out() -> None:
    assert list(shops(["demo", "S1-3", "XL2"])) == ["demo", "S1", "S2", "S3", "XL2"]


def test_the_board_is_timed(tmp_path: Path) -> None:
    row = board.measure("S", generate("S", 1), tmp_path)
    assert (row.printers, row.jobs) == (8, 40)
    assert row.first_ms > 0 and row.kilobytes > 10
