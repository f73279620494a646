"""What prints teach, beside figures known beforehand."""

from __future__ import annotations

import math
import random
from datetime import datetime, timedelta

import numpy as np
import pytest

from scheduler.quoting.kept import hit_rates, levels, wilson
from scheduler.quoting.learning import learn
from scheduler.quoting.records import PrintRecord, PromiseRecord
from scheduler.quoting.variation import USUAL, Variation
from tests.builders import at

NOW = at(60 * 24 * 60)
PLACES = [(machine, material) for machine in ("P1", "P2", "P3") for material in ("PC", "PEI")]


def prints(
    count: int, factor: float, *, machine: str = "P1", material: str = "PC", spread: float = 0.08,
    failing: float = 0.0, days_ago: float = 1.0, seed: int = 1,
) -> list[PrintRecord]:  # fmt: skip
    dice = np.random.default_rng(seed)
    ended = NOW - timedelta(days=days_ago)
    return [
        PrintRecord(machine, material, 300, 300 * factor * math.exp(noise), bool(luck < failing), ended)
        for noise, luck in zip(dice.normal(0, spread, count), dice.random(count), strict=True)
    ]


def test_without_prints_the_documented_defaults_stand() -> None:
    learnt = learn([], NOW)
    assert learnt.cells == () and learnt.shop.seen is None
    assert learnt.shop.luck.factor == 1.0 and learnt.shop.luck.spread == pytest.approx(USUAL.spread)
    assert learnt.shop.luck.failing == pytest.approx(USUAL.failing)
    assert learnt.variation(Variation()).cells == {}


def test_a_bias_of_the_whole_shop_is_found() -> None:
    records = [
        each
        for seed, (machine, material) in enumerate(PLACES)
        for each in prints(40, 1.15, machine=machine, material=material, seed=seed)
    ]
    learnt = learn(records, NOW)
    assert learnt.shop.luck.factor == pytest.approx(1.15, abs=0.02)
    assert learnt.shop.luck.spread == pytest.approx(0.08, abs=0.01)
    for cell in learnt.cells:
        assert cell.luck.factor == pytest.approx(1.15, abs=0.03)
        assert cell.factor_low < 1.15 < cell.factor_high
    assert learnt.variation(Variation()).luck("P2", "PEI").factor == pytest.approx(1.15, abs=0.03)
    # A machine that has printed nothing yet is believed to be like the shop.
    assert learnt.variation(Variation()).luck("P9", "PEI").factor == learnt.shop.luck.factor


def test_few_prints_are_drawn_towards_the_shop_many_are_not() -> None:
    shop = [
        each
        for seed, (machine, material) in enumerate(PLACES)
        for each in prints(60, (0.95, 1.0, 1.05)[seed % 3], machine=machine, material=material, seed=seed)
    ]
    few = learn([*shop, *prints(2, 1.4, machine="P9", seed=3)], NOW)
    many = learn([*shop, *prints(200, 1.4, machine="P9", seed=3)], NOW)
    of_few = next(cell for cell in few.cells if cell.machine == "P9")
    of_many = next(cell for cell in many.cells if cell.machine == "P9")
    assert of_few.seen is not None and few.shop.luck.factor < of_few.luck.factor < of_few.seen
    assert of_many.luck.factor == pytest.approx(1.4, abs=0.03)
    assert of_few.luck.doubt > of_many.luck.doubt


def test_two_prints_alone_by_hand() -> None:
    # One cell, weights 1 at the instant of learning: mean logarithm 0.2, variance between cells at its least.
    records = [PrintRecord("P1", "PC", 100, 100 * math.exp(x), False, NOW) for x in (0.1, 0.3)]
    learnt = learn(records, NOW)
    pooled = (12 * 0.08**2 + 0.02) / (12 + 1)
    own = 1 / (0.01**2 + pooled / 2)
    mean = 0.2 * own / (own + 1 / 0.1**2)
    assert learnt.shop.luck.factor == pytest.approx(math.exp(mean), abs=1e-5)
    share = 0.01**2 / (0.01**2 + pooled / 2)
    assert learnt.cells[0].luck.factor == pytest.approx(math.exp(mean + share * (0.2 - mean)), abs=1e-5)
    assert learnt.cells[0].seen == pytest.approx(math.exp(0.2))


def test_old_prints_fade_and_a_reset_forgets_them() -> None:
    records = [*prints(100, 1.0, days_ago=50), *prints(100, 1.15, days_ago=1, seed=2)]
    assert learn(records, NOW).shop.luck.factor > 1.10
    assert learn(records, NOW, since=NOW - timedelta(days=10)).shop.luck.factor == pytest.approx(
        1.15, abs=0.03
    )
    assert learn(records, NOW, since=NOW).shop.prints == 0
    # What has not ended yet is not known.
    assert learn(records, NOW - timedelta(days=20)).shop.luck.factor == pytest.approx(1.0, abs=0.03)


def test_failures_move_the_rate_from_its_prior() -> None:
    records = prints(200, 1.0, failing=0.2, seed=4)
    learnt = learn(records, NOW)
    failed = sum(record.failed for record in records)
    assert learnt.shop.failures == failed
    aged = 0.5 ** (1 / 90)
    assert learnt.shop.luck.failing == pytest.approx((1 + aged * failed) / (20 + aged * 200))
    assert learnt.shop.failing_low < learnt.shop.luck.failing < learnt.shop.failing_high


def test_a_slip_of_the_record_does_not_run_away() -> None:
    wild = [*prints(20, 1.0), PrintRecord("P1", "PC", 300, 3_000_000, False, NOW)]
    assert learn(wild, NOW).shop.luck.factor < 1.15
    odd = [PrintRecord("P1", "PC", 0, 10, False, NOW), PrintRecord("P1", "PC", 10, 0, True, NOW)]
    assert learn(odd, NOW).shop.luck.factor == 1.0


@pytest.mark.parametrize(
    ("kept", "decided", "low", "high"),
    # Newcombe 1998, table I: Wilson's score interval without continuity correction.
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_the_interval_is_wilsons(kept: int, decided: int, low: float, high: float) -> None:
    assert wilson(kept, decided) == pytest.approx((low, high), abs=5e-5)


def test_promises_are_counted_by_their_chance() -> None:
    def promise(quantile: float, due: int, done: int | None) -> PromiseRecord:
        return PromiseRecord(quantile, at(0), at(due), None if done is None else at(done))

    promises = [
        promise(0.8, 100, 100),
        promise(0.8, 100, 101),
        promise(0.8, 100, None),
        promise(0.8, 900, None),
    ]
    promises += [promise(0.95, 500, 50)]
    low, high = hit_rates(promises, at(500))
    assert (low.quantile, low.kept, low.decided, low.open) == (0.8, 1, 3, 1)
    assert low.rate == pytest.approx(1 / 3)
    assert (high.quantile, high.kept, high.decided, high.rate) == (0.95, 1, 1, 1.0)
    assert hit_rates(promises, at(500), since=at(1)) == ()


def test_a_verdict_needs_enough_promises() -> None:
    def rates(kept: int, missed: int) -> str:
        promises: list[PromiseRecord] = []
        for done, count in ((at(50), kept), (at(150), missed)):
            promises += [PromiseRecord(0.8, at(0), at(100), done)] * count
        return hit_rates(promises, datetime.max.replace(tzinfo=NOW.tzinfo))[0].verdict

    assert rates(1, 1) == "as promised, as far as so many tell"
    assert rates(50, 50) == "kept less often than promised"
    assert rates(200, 2) == "kept more often than promised"


def test_a_missed_promise_puts_later_dates_off_a_kept_one_less_so_back() -> None:
    def promise(due: int, done: int | None, quantile: float = 0.8) -> PromiseRecord:
        return PromiseRecord(quantile, at(0), at(due), None if done is None else at(done))

    chances = (0.5, 0.8, 0.95)
    assert levels([], at(900), chances) == {0.5: 0.5, 0.8: 0.8, 0.95: 0.95}
    # By pencil: 0.8 + 0.02 × 0.8, then 0.02 × 0.2 less; what is not due yet counts nowhere.
    missed, kept, undecided = promise(100, 101), promise(200, 150), promise(950, 960)
    assert levels([missed], at(900), chances)[0.8] == pytest.approx(0.816)
    assert levels([kept, undecided, missed], at(900), chances)[0.8] == pytest.approx(0.812)
    assert levels([missed], at(900), chances, since=at(1)) == {0.5: 0.5, 0.8: 0.8, 0.95: 0.95}
    # Bounds, and a surer date is never the sooner one.
    never = levels([promise(100, None)] * 500, at(900), chances)
    assert never == {0.5: 0.5, 0.8: 0.98, 0.95: 0.98}
    assert levels([kept] * 500, at(900), chances)[0.8] == pytest.approx(0.7)


@pytest.mark.parametrize("missing", [0.12, -0.06, 0.0])
def test_levels_make_promises_as_good_as_they_say(missing: float) -> None:
    # A forecast whose dates of chance x are kept with x - missing.
    dice = random.Random(5)
    promises: list[PromiseRecord] = []
    for number in range(1200):
        level = levels(promises[-400:], at(number), (0.8,))[0.8] if missing else 0.8
        kept = dice.random() < level - missing
        promises.append(PromiseRecord(0.8, at(number), at(number), at(number + (0 if kept else 1))))
    late = promises[-800:]
    assert sum(one.done_at == one.promised_for for one in late) / len(late) == pytest.approx(0.8, abs=0.035)
