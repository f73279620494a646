"""Random days on the floor: plans stay valid, events tell everything."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.floor.days import live_through


@pytest.mark.parametrize("first", [1, 11, 21])
def test_random_days(first: int, tmp_path: Path) -> None:
    touches = 0
    for seed in range(first, first + 10):
        taken, _, lines = live_through(seed, tmp_path)
        assert lines == []
        touches += sum(taken.values())
    assert touches > 40
