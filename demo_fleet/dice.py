"""Seeded chance that gives the same figures on every Python version.

Only :meth:`random.Random.random` is promised to keep its sequence for a seed, so everything here
is built on it alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from random import Random
from typing import TypeVar

T = TypeVar("T")


class Dice:
    """A seeded source of numbers and picks."""

    def __init__(self, seed: str) -> None:
        self._random = Random(seed).random

    def chance(self, share: float) -> bool:
        """True in ``share`` of all calls."""
        return self._random() < share

    def between(self, lo: float, hi: float) -> float:
        """A number of ``[lo, hi)``, all equally likely."""
        return lo + (hi - lo) * self._random()

    def whole(self, lo: int, hi: int) -> int:
        """A whole number from ``lo`` to ``hi``, both included."""
        return lo + int((hi - lo + 1) * self._random())

    def pick(self, options: Sequence[T]) -> T:
        """One of ``options``, all equally likely."""
        return options[int(len(options) * self._random())]

    def weighted(self, options: Sequence[T], weights: Sequence[float]) -> T:
        """One of ``options``, as likely as its weight says."""
        point = self._random() * sum(weights)
        for option, weight in zip(options, weights, strict=True):
            point -= weight
            if point < 0:
                return option
        return options[-1]

    def shuffled(self, options: Sequence[T]) -> list[T]:
        """``options`` in a random order."""
        rest = list(options)
        for last in range(len(rest) - 1, 0, -1):
            other = self.whole(0, last)
            rest[last], rest[other] = rest[other], rest[last]
        return rest

    def lognormal(self, median: float, sigma: float) -> float:
        """A lognormal number by the transform of Box and Muller (1958)."""
        radius = math.sqrt(-2.0 * math.log(1.0 - self._random()))
        return median * math.exp(sigma * radius * math.cos(2.0 * math.pi * self._random()))
