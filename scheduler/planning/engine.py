"""The compiled search: several chains side by side, each annealing its own copy of the plan."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial

from scheduler.planning.bound import late_alone
from scheduler.planning.bound.prices import Prices
from scheduler.planning.compiled import Kernels, Pool, pool_of
from scheduler.planning.compiled.pool import JOURNAL_ENTRIES
from scheduler.planning.construct import Base, Taste
from scheduler.planning.kernel import search
from scheduler.planning.kernel.place import late_weight, missing_weight
from scheduler.planning.kernel.score import toll_edges
from scheduler.planning.kernel.tables import BARRED, LATE, MISSING, TOLL_MIN, State
from scheduler.planning.problem import Task

#: How often, over the whole search, the chains meet.
MEETINGS = 20
#: In a shop of more jobs one pair of hands matters less to the others.
BUSY_JOBS = 200


@dataclass(frozen=True)
class Tuning:
    """How the search works; every figure was chosen by trial, see DEVELOPERS.md.

    Parameters
    ----------
    hot_h, cold_h : float
        Temperature at the start and at the end, in late hours of a job of mean weight.
    most_out : int
        Jobs taken out at once, those that must follow apart.
    window : float
        Chance that a cut takes a stretch of a machine's row rather than all that follows.
    look : int
        Printers looked at for each job put back.
    by_start, by_chance : float
        Chance that jobs are put back in their earlier order, or in a random one; else by latest start.
    more_rows : int
        Rows cut beside the first, at most.
    tries : int
        Random jobs of which the costliest begins a cut, two at least and this many more.
    further : float
        Chance that a cut begins one job earlier, and another, ...
    spools, bakers : float
        Chance that, instead of a row, users of one spool, or of dryers and ovens, are taken out.
    busy : float
        Likewise some who bind hands at about the same time; less often in shops of more than `BUSY_JOBS`.
    lots : float
        Chance that all jobs that share the first one's lot are taken out with it.
    lost : float
        Chance that a cut makes room for a job that has no place, while there is one.
    stay : float
        Chance that jobs go back to the machines that they came from unless another is much better.
    leave : float
        Chance that jobs in no hurry leave their last steps' minutes to others.
    tolls : float
        Chance that jobs pay for the minutes of the machines that they go to, once these have prices.
    toll : float
        What part of the price, or twice that.
    whims : float
        Chance that each job put back takes its machines to cost more than they do, by chance.
    seats : float
        Chance that unloads and loadings that can wait give way to the jobs put back, see `kernel.seat`.
    """

    hot_h: float = 12.0
    cold_h: float = 0.05
    most_out: int = 28
    window: float = 0.5
    look: int = 24
    by_start: float = 0.5
    by_chance: float = 0.05
    more_rows: int = 2
    tries: int = 6
    further: float = 0.8
    spools: float = 0.25
    bakers: float = 0.2
    busy: float = 0.2
    lots: float = 0.2
    lost: float = 0.03
    stay: float = 0.05
    leave: float = 0.0
    tolls: float = 0.6
    toll: float = 0.25
    whims: float = 0.0
    seats: float = 0.0


@dataclass
class Chain:
    """One annealing chain on its own pool."""

    kernels: Kernels
    pool: Pool
    told_at: int
    tune_at: int

    @property
    def best(self) -> float:
        """Weighted late minutes, and more, of the best plan that it kept."""
        return float(self.pool.real[self.told_at + search.BEST])

    @property
    def now(self) -> float:
        """Likewise of the plan at hand."""
        return float(self.pool.real[self.told_at + search.NOW])

    @property
    def rounds(self) -> int:
        """Rounds so far."""
        return int(self.pool.real[self.told_at + search.ROUNDS])

    def run(self, rounds: int, heat: float) -> None:
        """Improve for some rounds at one temperature."""
        self.pool.real[self.tune_at + search.HEAT_OF] = heat
        if self.kernels.improve(self.pool.whole, self.pool.real, rounds) < 0:
            self.pool.restore()
            self.restart()

    def restart(self) -> None:
        """Take the plan at hand as the best so far."""
        cost = self.kernels.cost_now(self.pool.whole, self.pool.real)
        self.pool.real[self.told_at + search.NOW] = cost
        self.pool.real[self.told_at + search.BEST] = cost
        self.kernels.keep(self.pool.whole, self.pool.real)


@dataclass
class Engine:
    """Compiled planning of one task.

    Parameters
    ----------
    base : Base
        Where every plan begins.
    kernels : module
        Of `scheduler.planning.compiled`.
    seed : int
        Of every chain's random numbers.
    chains : int
        How many run side by side, one thread each.
    """

    base: Base
    kernels: Kernels
    seed: int
    chains: int = 2
    tuning: Tuning = field(default_factory=Tuning)
    journal: int = JOURNAL_ENTRIES
    _made: list[Chain] = field(default_factory=list)
    _start: State | None = None
    _heeded: object = None
    _met: int = 0

    @property
    def task(self) -> Task:
        """What is planned."""
        return self.base.task

    @property
    def plans(self) -> int:
        """How many plans are improved: one a chain."""
        return self.chains

    def _pool(self) -> Pool:
        if self._start is None:
            self._start = ready_state(self.base, self.kernels)
        return pool_of(self.task.problem, self._start, self.journal)

    def construct(self, order: list[int], taste: Taste, stop: Callable[[int], bool]) -> Pool | None:
        """Place the jobs in the given order; ``None`` if it was stopped."""
        P = self.task.problem
        pool = self._pool()
        pool.write("order", order)
        pool.write("weights", taste.weights())
        step = 64
        for start in range(0, P.jobs, step):
            end = min(P.jobs, start + step)
            self.kernels.place_row(pool.whole, pool.real, start, end, taste.most, int(taste.gaps))
            if stop(end):
                return None
        self.kernels.place_row(pool.whole, pool.real, 0, P.jobs, P.printers, 0)
        return pool

    def place_in_order(self, order: list[int], taste: Taste, gaps: bool) -> State:
        """One plan from one order, every machine looked at for every job; gaps in rows only if asked."""
        P = self.task.problem
        pool = self._pool()
        pool.write("order", order)
        pool.write("weights", taste.weights())
        self.kernels.place_row(pool.whole, pool.real, 0, P.jobs, P.printers, int(gaps))
        assert self._start is not None
        return pool.state(self._start)

    def cost(self, pool: Pool) -> float:
        """What the search makes small."""
        return float(self.kernels.cost_now(pool.whole, pool.real))

    def begin(self, pool: Pool) -> None:
        """Let every chain begin with the plan in ``pool``."""
        alone = late_alone(self.base, self.kernels)
        for number in range(self.plans):
            copy = pool if number == self.plans - 1 else pool.copy()
            told, tune = copy.spans["S", "told"][0], copy.spans["S", "tune"][0]
            copy.write("alone", alone)
            copy.write("dice", [1 + (self.seed * 7919 + number * 104729) % 2000000000, 12345 + number])
            copy.write("tune", self.tune())
            chain = Chain(self.kernels, copy, told, tune)
            chain.restart()
            self._made.append(chain)

    def heed(self, prices: Prices | None) -> None:
        """Let jobs pay for machines' minutes what the bound's prices say, if it has some that are new."""
        if prices is None or prices.price is self._heeded or not prices.price.any():
            return
        self._heeded = prices.price
        edges = [TOLL_MIN * k for k in range(toll_edges(self.task.problem))]
        by_printer = (prices.paid_before(edges) / 60.0).ravel().tolist()
        for number, chain in enumerate(self._made):
            chain.pool.write("toll", by_printer)
            chain.pool.real[chain.tune_at + search.TOLLS] = self.pays(number)

    def pays(self, number: int) -> float:
        """Chance that jobs pay for machines' minutes in a cut of one of the plans."""
        return self.tuning.tolls

    def tune(self) -> tuple[float, ...]:
        """The tuning as `State.tune` has it, cold."""
        tuning = self.tuning
        return (
            0.0,
            float(max(4, min(tuning.most_out, self.task.problem.jobs // 2))),
            tuning.window,
            float(tuning.look),
            1e-3,
            tuning.by_start,
            tuning.by_chance,
            float(tuning.more_rows),
            float(tuning.tries),
            tuning.further,
            tuning.spools,
            tuning.bakers,
            tuning.busy * min(1.0, BUSY_JOBS / max(1, self.task.problem.jobs)),
            tuning.lots,
            tuning.lost,
            tuning.stay,
            tuning.leave,
            0.0,
            tuning.toll,
            tuning.whims,
            tuning.seats,
        )

    def heat(self, part: float) -> float:
        """Temperature after a part (0 to 1) of the search, in weighted late minutes."""
        return self.heat_between(self.tuning.hot_h, self.tuning.cold_h, part)

    def heat_between(self, hot_h: float, cold_h: float, part: float) -> float:
        """Temperature at a part (0 to 1) of the way from one to another, in weighted late minutes."""
        weights = [w for w in self.task.problem.j_weight if w > 0] or [1.0]
        scale = 60.0 * sum(weights) / len(weights)
        return scale * float(hot_h * (cold_h / hot_h) ** min(1.0, part))

    def step(self, part: float, rounds: int) -> None:
        """Run every chain for some rounds; now and then the worst goes on from the best plan.

        Parameters
        ----------
        part : float
            How much of the search is over, 0 to 1; it sets the temperature.
        rounds : int
            Rounds of each chain.
        """
        heat = self.heat(part)
        side_by_side([partial(chain.run, rounds, heat) for chain in self._made])
        if len(self._made) > 1 and int(part * MEETINGS) > self._met:
            self._met = int(part * MEETINGS)
            self.meet()

    def meet(self) -> None:
        """Let the chain with the worst plan at hand go on from the best one's."""
        now = [chain.now for chain in self._made]
        worst, best = self._made[now.index(max(now))], self._made[now.index(min(now))]
        if worst is best:
            return
        kept = worst.best
        worst.pool.take_state(best.pool)
        worst.pool.real[worst.told_at + search.NOW] = min(now)
        if min(now) < kept:
            worst.restart()

    @property
    def best(self) -> float:
        """Cost of the best plan of all chains."""
        return min(chain.best for chain in self._made)

    def figures(self) -> tuple[int, float]:
        """Jobs placed in, and late hours of, about the best plan."""
        return self.figures_of(min(self._made, key=lambda chain: chain.best).pool)

    def figures_of(self, pool: Pool) -> tuple[int, float]:
        """Jobs placed in, and late hours of, the plan in a pool."""
        P = self.task.problem
        at, _ = pool.spans["S", "total"]
        printer, n = pool.spans["S", "printer"]
        placed = int((pool.whole[printer : printer + n] >= 0).sum())
        late = float(pool.real[at + LATE])
        for j in (pool.whole[printer : printer + n] < 0).nonzero()[0].tolist():
            if P.fit_off[P.j_fit[j]] < P.fit_off[P.j_fit[j] + 1]:
                late += P.j_weight[j] * max(0, P.left_out_at - P.j_due[j])
        return placed, late / 60.0

    @property
    def rounds(self) -> int:
        """Rounds of all chains."""
        return sum(chain.rounds for chain in self._made)

    def best_state(self) -> State:
        """The best plan of all chains, as lists."""
        assert self._start is not None
        chain = min(self._made, key=lambda chain: chain.best)
        kept = chain.pool.copy()
        kept.restore()
        return kept.state(self._start)


def side_by_side(works: Sequence[Callable[[], None]]) -> None:
    """Do several things at once, each in a thread of its own."""
    threads = [threading.Thread(target=work) for work in works[1:]]
    for thread in threads:
        thread.start()
    works[0]()
    for thread in threads:
        thread.join()


def ready_state(base: Base, kernels: Kernels | None = None) -> State:
    """The state that every plan begins with, its running figures and lists in order."""
    return with_totals(base, base.as_before(base.state(), kernels))


def with_totals(base: Base, S: State) -> State:
    """The state with the running figures of its plan, and with what can't be placed barred."""
    task, P = base.task, base.task.problem
    for job_id in base.held:
        S.fixed[task.names.jobs[job_id]] = BARRED
    S.total[LATE] = S.total[MISSING] = 0.0
    for j in range(P.jobs):
        if S.printer[j] >= 0:
            S.total[LATE] += late_weight(P, S, j)
        elif P.fit_off[P.j_fit[j]] < P.fit_off[P.j_fit[j] + 1] and S.fixed[j] != BARRED:
            S.total[MISSING] += missing_weight(P, j)
    return S
