"""Put a plan and the parts that came back together again, every rule checked as it goes."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from scheduler.planning.compiled import Kernels, Pool
from scheduler.planning.construct import Taste
from scheduler.planning.kernel.again import G_TIMES
from scheduler.planning.parts.ground import Ground
from scheduler.planning.parts.part import Answer
from scheduler.planning.parts.room import make_room
from scheduler.planning.parts.rows import Rows, array, rows_of_pool
from scheduler.planning.parts.work import Bench

#: Plans of which the rows are remembered, to tell whether a late answer's jobs stand as they stood.
REMEMBERED = 8


@dataclass
class Merger:
    """Keeps the plan that all work on, and lets into it what makes it better.

    Parameters
    ----------
    rows : Rows
        The plan to begin with.
    """

    ground: Ground
    kernels: Kernels
    rows: Rows
    cost: float = 0.0
    late: int = 0
    stale: int = 0
    mended: int = 0
    _bench: Bench = field(init=False)
    _known: OrderedDict[str, Rows] = field(default_factory=OrderedDict)

    def __post_init__(self) -> None:
        self._bench = Bench(self.ground, self.kernels)
        self._take(*self._standing(self.rows))

    @property
    def base(self) -> str:
        """Name of the plan that all work on."""
        return self.rows.name

    def pool(self) -> Pool:
        """A pool with the plan in it."""
        return self._bench.laid_out(self.rows)

    def take(self, answers: list[Answer]) -> bool:
        """Let in what came back; True if the plan is better for it.

        All together if that is better than before, else the part that won most. An answer to an older
        plan counts only while every job that it moves stands as it stood there, and only by itself.
        """
        ours = self.base
        fresh = [answer for answer in answers if answer.base == ours]
        better = self._try(fresh)
        if not better and len(fresh) > 1:
            better = any(self._try([one]) for one in sorted(fresh, key=lambda answer: -answer.gain))
        for answer in answers:
            if answer.base == ours:
                continue
            if self._stands(answer) and self._try([answer]):
                self.late += 1
                better = True
            else:
                self.stale += 1
        return better

    def make_room(self) -> bool:
        """Exchange spools for jobs that found none with enough left; True if the plan is better for it."""
        exchanges = make_room(self.ground, self.pool(), self.rows)
        if not exchanges:
            return False
        whole = self.rows.whole.copy()
        for _, givers in exchanges:
            whole[givers, 0] = -1
        first = [job for seeker, givers in exchanges for job in (seeker, *givers)]
        rows, cost = self._standing(Rows(whole, self.rows.celsius), first)
        if cost >= self.cost - 1e-6:
            return False
        self._take(rows, cost)
        return True

    def _stands(self, answer: Answer) -> bool:
        """Whether the plan still has the answer's jobs as its own base had them."""
        known = self._known.get(answer.base)
        if known is None:
            return False
        jobs = answer.jobs
        same = (known.whole[jobs] == self.rows.whole[jobs]).all()
        return bool(same and (known.celsius[jobs] == self.rows.celsius[jobs]).all())

    def _try(self, answers: list[Answer]) -> bool:
        if not any(len(answer.jobs) for answer in answers):
            return False
        whole, celsius = self.rows.whole.copy(), self.rows.celsius.copy()
        for answer in answers:
            whole[answer.jobs], celsius[answer.jobs] = answer.whole, answer.celsius
        rows, cost = self._standing(Rows(whole, celsius))
        if cost >= self.cost - 1e-6:
            return False
        self._take(rows, cost)
        return True

    def _take(self, rows: Rows, cost: float) -> None:
        self.rows, self.cost = rows, cost
        self._known[rows.name] = rows
        while len(self._known) > REMEMBERED:
            self._known.popitem(last=False)

    def _standing(self, rows: Rows, first: Sequence[int] = ()) -> tuple[Rows, float]:
        """The rows that stand beside each other, and what they cost.

        What does not stand is placed anew, after the jobs named ``first``.
        """
        pool = self._bench.laid_out(rows)
        lost = np.flatnonzero((rows.whole[:, 0] >= 0) & (array(pool, "S", "printer") < 0))
        self.mended += len(lost)
        order = [*first, *lost[np.argsort(rows.whole[lost, G_TIMES + 3], kind="stable")].tolist()]
        if order:
            taste = Taste()
            pool.write("order", order)
            pool.write("weights", taste.weights())
            self.kernels.place_row(pool.whole, pool.real, 0, len(order), taste.most, int(taste.gaps))
        stood = rows_of_pool(pool, self.ground.ways, self.ground.settled)
        return stood, float(self.kernels.cost_now(pool.whole, pool.real))
