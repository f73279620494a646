"""Thousands of filaments: the same answers as one by one, and not a gram lost."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from scheduler.physics.moisture import series
from scheduler.physics.moisture.batch import Histories, _march, run
from scheduler.physics.moisture.strand import Stage, Strand
from scheduler.physics.nonsense import Nonsense


def random_histories(count: int, stages: int, seed: int) -> Histories:
    dice = np.random.default_rng(seed)
    shape = (count, stages)
    return Histories(
        radius_m=dice.choice([0.875e-3, 1.425e-3], count),
        start_pct=dice.uniform(0, 3, count),
        diffusivity_m2_per_s=10 ** dice.uniform(-13, -10, shape),
        equilibrium_pct=dice.uniform(0, 3, shape),
        biot=10 ** dice.uniform(-2, 3, shape),
        minutes=dice.choice([0.0, 1.0], shape, p=[0.1, 0.9]) * dice.uniform(1, 3000, shape),
    )


def test_a_batch_agrees_with_filaments_one_by_one() -> None:
    histories = random_histories(60, 4, 11)
    outcome = run(histories)
    for which in range(60):
        strand = Strand(histories.radius_m[which], np.full(96, histories.start_pct[which]))
        for stage in range(4):
            strand = strand.after(
                Stage(
                    histories.diffusivity_m2_per_s[which, stage],
                    histories.equilibrium_pct[which, stage],
                    histories.biot[which, stage],
                ),
                histories.minutes[which, stage],
            )
            # A ten-thousandth of the widest difference that a history can have.
            assert outcome.means_pct[which, stage] == pytest.approx(strand.mean_pct, abs=3e-4)


@pytest.mark.parametrize("biot", [1e-4, 0.3, 3.0, 30.0, 1e4, math.inf])
def test_a_batch_agrees_with_the_series(biot: float) -> None:
    fouriers = 10 ** np.linspace(-5, 1, 50)
    ones = np.ones((50, 1))
    minutes = (fouriers * 0.875e-3**2 / 1e-12 / 60)[:, None]
    even = Histories(np.full(50, 0.875e-3), np.ones(50), ones * 1e-12, ones * 0, ones * biot, minutes)
    lost = 1 - run(even).means_pct[:, 0]
    assert np.abs(lost - series.cylinder_share(fouriers, biot)).max() < 1e-4


def test_mass_is_kept_to_a_billionth() -> None:
    histories = random_histories(300, 5, 12)
    outcome = run(histories)
    lost = histories.start_pct - outcome.means_pct[:, -1]
    assert np.abs(lost - outcome.given_off_pct).max() < 1e-9


def test_the_compiled_loops_are_the_plain_ones() -> None:
    histories = random_histories(3, 2, 13)
    compiled = run(histories)
    from scheduler.physics.moisture import batch

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(batch, "_compiled", lambda: _march)
        plain = run(histories)
    assert plain.means_pct == pytest.approx(compiled.means_pct, abs=1e-12)
    assert plain.given_off_pct == pytest.approx(compiled.given_off_pct, abs=1e-12)


def test_a_batch_begins_where_another_ended() -> None:
    whole = random_histories(20, 2, 14)
    first = run(
        replace(
            whole,
            **{
                name: getattr(whole, name)[:, :1]
                for name in ("diffusivity_m2_per_s", "equilibrium_pct", "biot", "minutes")
            },
        )
    )
    second = run(
        Histories(
            whole.radius_m,
            first.profiles,
            *(
                getattr(whole, name)[:, 1:]
                for name in ("diffusivity_m2_per_s", "equilibrium_pct", "biot", "minutes")
            ),
        )
    )
    assert second.means_pct[:, 0] == pytest.approx(run(whole).means_pct[:, 1], abs=1e-12)


def test_a_batch_of_none_is_none() -> None:
    nothing = np.empty((0, 3))
    assert run(Histories(np.empty(0), np.empty(0), *([nothing] * 4))).means_pct.shape == (0, 3)


def test_nonsense_is_refused() -> None:
    good = random_histories(2, 2, 15)
    for name, bad in (
        ("minutes", good.minutes - 1e6),
        ("radius_m", good.radius_m * 0),
        ("equilibrium_pct", good.equilibrium_pct - 9),
        ("biot", good.biot * 0),
        ("minutes", good.minutes[:, :1]),
        ("diffusivity_m2_per_s", good.diffusivity_m2_per_s * math.nan),
    ):
        with pytest.raises(Nonsense):
            replace(good, **{name: bad})
