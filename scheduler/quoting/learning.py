"""What a shop's own prints teach: how far estimates are off, how much prints vary, how often they fail.

Logarithms of actual over estimated minutes are taken for normal: one mean of the shop, a deviation of
every machine with every material, and a spread from print to print. The deviations are drawn towards
the shop's mean as far as their own prints leave in doubt (empirical Bayes: Efron and Morris 1975; the
variance between cells by moments, DerSimonian and Laird 1986). Failures follow a Beta distribution
around the shop's own rate (Gelman et al., *Bayesian Data Analysis*, ch. 5). Older prints count less.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from scheduler.quoting.records import PrintRecord
from scheduler.quoting.variation import USUAL, PrintLuck, Variation

#: An estimate counts half when it is so old.
HALF_LIFE_DAYS = 21.0
#: A failure or success counts half when it is so old; failures are rare and must be gathered for longer.
FAILURE_HALF_LIFE_DAYS = 90.0
#: Standard deviation around 0 of the shop's mean logarithm of actual over estimated, before any print.
MEAN_PRIOR = 0.10
#: Cells are taken to differ at least by this, standard deviation of the logarithm.
LEAST_BETWEEN = 0.01
#: The default spread weighs as much as so many prints.
SPREAD_WEIGHT = 12.0
#: The default failure rate weighs as much as so many prints of the shop, the shop's as so many of a cell.
FAILURE_WEIGHT = 20.0
#: Ratios beyond this, either way, are taken for slips of the record and cut off there.
WIDEST = 3.0


@dataclass(frozen=True, slots=True)
class Learnt:
    """What is known of one machine with one material, or of the whole shop.

    Parameters
    ----------
    machine, material : str or None
        ``None``: the whole shop.
    prints, failures : int
        How many ended well, and how many failed.
    seen : float or None
        Geometric mean of actual over estimated minutes as recorded; ``None``: no print ended well.
    luck : PrintLuck
        What forecasts use: the factor drawn towards the shop's, its doubt, spread and failure rate.
    failing_low, failing_high : float
        95 % credible interval of the failure rate.
    """

    machine: str | None
    material: str | None
    prints: int
    failures: int
    seen: float | None
    luck: PrintLuck
    failing_low: float
    failing_high: float

    @property
    def factor_low(self) -> float:
        """Lower end of the factor's 95 % interval."""
        return self.luck.factor * math.exp(-1.96 * self.luck.doubt)

    @property
    def factor_high(self) -> float:
        """Upper end of the factor's 95 % interval."""
        return self.luck.factor * math.exp(1.96 * self.luck.doubt)


@dataclass(frozen=True, slots=True)
class Learning:
    """Everything learnt at one instant: the shop, then each machine with each material that it printed."""

    shop: Learnt
    cells: tuple[Learnt, ...]

    def variation(self, base: Variation) -> Variation:
        """``base`` with print times and failures as learnt; the rest of it stays."""
        known = {
            (cell.machine, cell.material): cell.luck
            for cell in self.cells
            if cell.machine is not None and cell.material is not None
        }
        return replace(base, usual=self.shop.luck, cells=known)


def learn(
    records: Iterable[PrintRecord],
    now: datetime,
    *,
    since: datetime | None = None,
    before: PrintLuck = USUAL,
) -> Learning:
    """Learn from prints that have ended.

    Parameters
    ----------
    now : datetime
        Prints that ended later are not known yet.
    since : datetime or None
        A manager's reset: earlier prints are left out.
    before : PrintLuck
        What is believed before any print.
    """
    groups: dict[tuple[str, str], list[PrintRecord]] = {}
    for record in records:
        if record.at <= now and (since is None or record.at >= since):
            groups.setdefault((record.machine, record.material), []).append(record)
    places = sorted(groups)
    cells = [_Cell(groups[place], now) for place in places]
    spread_ss, weight = sum(cell.squares for cell in cells), sum(cell.freedom for cell in cells)
    pooled = (SPREAD_WEIGHT * before.spread**2 + spread_ss) / (SPREAD_WEIGHT + weight)
    between = _between(cells, pooled)
    start = math.log(before.factor)
    mean, mean_variance = _mean(cells, pooled, between, start)
    ended, failed = sum(cell.tried for cell in cells), sum(cell.failed for cell in cells)
    shop_rate = _rate(before.failing, failed, ended)
    counts = [(sum(not r.failed for r in groups[p]), sum(r.failed for r in groups[p])) for p in places]
    seen = [cell.mean for cell in cells if cell.weight > 0]
    weights = [cell.weight for cell in cells if cell.weight > 0]
    shop = Learnt(
        None,
        None,
        sum(well for well, _ in counts),
        sum(badly for _, badly in counts),
        float(np.exp(np.average(seen, weights=weights))) if seen else None,
        _luck(mean, math.sqrt(pooled), math.sqrt(mean_variance + between), shop_rate[0]),
        *shop_rate[1:],
    )
    learnt = []
    for place, cell, (well, badly) in zip(places, cells, counts, strict=True):
        share = between / (between + pooled / cell.weight) if cell.weight > 0 else 0.0
        middle = mean + share * (cell.mean - mean)
        variance = (1 - share) * between + (1 - share) ** 2 * mean_variance
        own = (SPREAD_WEIGHT * pooled + cell.squares) / (SPREAD_WEIGHT + cell.freedom)
        rate = _rate(shop_rate[0], cell.failed, cell.tried)
        luck = _luck(middle, math.sqrt(own), math.sqrt(variance), rate[0])
        factor = math.exp(cell.mean) if cell.weight > 0 else None
        learnt.append(Learnt(*place, well, badly, factor, luck, *rate[1:]))
    return Learning(shop, tuple(learnt))


class _Cell:
    """Weighted sums of one machine with one material."""

    def __init__(self, records: Sequence[PrintRecord], now: datetime) -> None:
        good = [r for r in records if not r.failed and r.estimated_min > 0 and r.actual_min > 0]
        ratios = np.array([math.log(r.actual_min / r.estimated_min) for r in good])
        ratios = np.clip(ratios, -math.log(WIDEST), math.log(WIDEST))
        weights = _weights([r.at for r in good], now, HALF_LIFE_DAYS)
        self.weight = float(weights.sum())
        self.mean = float(np.average(ratios, weights=weights)) if self.weight > 0 else 0.0
        self.squares = float((weights * (ratios - self.mean) ** 2).sum())
        # What one mean takes away of the weight, for unequal weights.
        self.freedom = self.weight - float((weights**2).sum()) / self.weight if self.weight > 0 else 0.0
        aged = _weights([r.at for r in records], now, FAILURE_HALF_LIFE_DAYS)
        self.tried = float(aged.sum())
        self.failed = float(sum(w for w, r in zip(aged, records, strict=True) if r.failed))


def _weights(ended: Sequence[datetime], now: datetime, half_life_days: float) -> NDArray[np.float64]:
    ages = np.array([(now - at) / timedelta(days=1) for at in ended], dtype=np.float64)
    weights: NDArray[np.float64] = 0.5 ** (ages / half_life_days)
    return weights


def _between(cells: Sequence[_Cell], pooled: float) -> float:
    """Variance between cells by moments, DerSimonian and Laird 1986, eq. 8."""
    used = [cell for cell in cells if cell.weight > 0]
    least = LEAST_BETWEEN**2
    if len(used) < 2:
        return least
    precision = np.array([cell.weight / pooled for cell in used])
    means = np.array([cell.mean for cell in used])
    middle = float(np.average(means, weights=precision))
    found = float((precision * (means - middle) ** 2).sum()) - (len(used) - 1)
    scale = float(precision.sum() - (precision**2).sum() / precision.sum())
    return max(least, found / scale) if scale > 0 else least


def _mean(cells: Sequence[_Cell], pooled: float, between: float, start: float) -> tuple[float, float]:
    """The shop's mean and its variance."""
    precision, total = 1 / MEAN_PRIOR**2, start / MEAN_PRIOR**2
    for cell in cells:
        if cell.weight > 0:
            own = 1 / (between + pooled / cell.weight)
            precision, total = precision + own, total + own * cell.mean
    return total / precision, 1 / precision


def _rate(before: float, failed: float, tried: float) -> tuple[float, float, float]:
    """Mean and 95 % interval of a failure rate that was ``before`` until so many tries failed."""
    badly = before * FAILURE_WEIGHT + failed
    well = (1 - before) * FAILURE_WEIGHT + tried - failed
    low, high = stats.beta.ppf([0.025, 0.975], badly, well)
    return badly / (badly + well), float(low), float(high)


def _luck(middle: float, spread: float, doubt: float, failing: float) -> PrintLuck:
    return PrintLuck(
        round(math.exp(middle), 6), round(min(1.0, spread), 6), round(min(1.0, doubt), 6), failing
    )
