"""The compiled search of small shops: many plans at steady temperatures, which they exchange."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial

from scheduler.planning.compiled import Pool
from scheduler.planning.engine import Chain, Engine, Tuning, side_by_side
from scheduler.planning.hasten import hasten
from scheduler.planning.kernel import search
from scheduler.planning.kernel.tables import State

#: Up to so many jobs two plans differ by so little that they can exchange their temperatures.
FEW_JOBS = 80
#: Entries of a journal: enough for cuts of so few jobs.
FEW_JOURNAL = 1 << 18
#: Plans of each chain.
EACH = 4
#: Temperatures of the hottest and the coldest plan, in late hours of a job of mean weight.
TOP_H, FOOT_H = 10.0, 0.15
#: The last part of the search, in which the best plan of each chain cools down.
LAST = 0.12
#: Temperatures of that.
LAST_HOT_H, LAST_COLD_H = 0.3, 0.03
#: In one plan of each core jobs seldom pay for machines' minutes: prices are not right for every shop.
SELDOM = 0.3
#: With one or two people in the shop, whose minutes go to whom decides much; in larger ones it lost. Whims,
#: and steps that give way, won here and changed nothing there.
FEW = Tuning(leave=0.1, tolls=0.95, toll=0.7, whims=0.5, seats=0.4)


@dataclass
class Ladder(Engine):
    """Compiled planning of a task of few jobs: replica exchange.

    A hot plan wanders, a cold one settles. Now and then two neighbours change places, as chance and their
    costs have it, so that what a hot plan comes upon is worked out by the cold ones, while none is ever
    cooled too fast (Swendsen and Wang 1986; Geyer 1991).
    """

    _exchange: random.Random = field(default_factory=random.Random)
    _cooling: list[Chain] = field(default_factory=list)

    @property
    def plans(self) -> int:
        """How many plans are improved: some a chain."""
        return self.chains * EACH

    def pays(self, number: int) -> float:
        """As `Engine.pays`; in some of the plans seldom."""
        return SELDOM if number % EACH == EACH - 1 else self.tuning.tolls

    def begin(self, pool: Pool) -> None:
        """Let every plan be the one in ``pool``."""
        super().begin(pool)
        self._exchange.seed(self.seed)

    def step(self, part: float, rounds: int) -> None:
        """Run every chain for some rounds, shared out among its plans; as `Engine.step`."""
        if part >= 1.0 - LAST:
            self.cool((part - 1.0 + LAST) / LAST, rounds)
            return
        each = max(1, rounds // EACH)
        rungs = len(self._made)
        heats = [self.heat_between(TOP_H, FOOT_H, k / max(1, rungs - 1)) for k in range(rungs)]

        def some(first: int) -> None:
            for k in range(first, rungs, self.chains):
                self._made[k].run(each, heats[k])

        side_by_side([partial(some, first) for first in range(self.chains)])
        self.exchange(heats)

    def exchange(self, heats: Sequence[float]) -> None:
        """Let neighbours change temperatures, hottest first: always if the hotter plan is the better."""
        for k in range(len(heats) - 1):
            hot, cold = self._made[k], self._made[k + 1]
            gain = (cold.now - hot.now) * (1.0 / heats[k + 1] - 1.0 / heats[k])
            if gain >= 0.0 or self._exchange.random() < math.exp(gain):
                self._made[k], self._made[k + 1] = cold, hot

    def figures(self) -> tuple[int, float]:
        """Jobs placed in, and late hours of, the plan at hand that is best; the best's may be hot by now."""
        return self.figures_of(min(self._made, key=lambda chain: chain.now).pool)

    def best_state(self) -> State:
        """The best plan of all, as lists, what was put off for nobody's sake put right."""
        state = super().best_state()
        hasten(self.task.problem, state)
        return state

    def cool(self, part: float, rounds: int) -> None:
        """Go on from the best plans, one a chain, down to where nothing gets worse."""
        if not self._cooling:
            self._cooling = sorted(self._made, key=lambda chain: chain.best)[: self.chains]
            for chain in self._cooling:
                chain.pool.restore()
                chain.pool.real[chain.told_at + search.NOW] = chain.best
        heat = self.heat_between(LAST_HOT_H, LAST_COLD_H, part)
        side_by_side([partial(chain.run, rounds, heat) for chain in self._cooling])
