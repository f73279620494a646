"""The planner's front door."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from scheduler.model import Plan, Scenario
from scheduler.planning.bound import bound_alone
from scheduler.planning.bound.beside import Beside
from scheduler.planning.bound.prices import Prices, is_small
from scheduler.planning.compiled import Pool, compiled_kernels, is_built, start_building
from scheduler.planning.construct import Base, construct, finish
from scheduler.planning.engine import Engine, Tuning
from scheduler.planning.kernel.tables import State
from scheduler.planning.ladder import FEW, FEW_JOBS, FEW_JOURNAL, Ladder
from scheduler.planning.orders import orders, reorder
from scheduler.planning.parts.crew import Crew, Threads
from scheduler.planning.parts.epochs import EPOCH_ROUNDS, EPOCH_S, Epochs
from scheduler.planning.parts.ground import ground_of
from scheduler.planning.parts.rows import rows_of_pool
from scheduler.planning.problem import Task, make_task
from scheduler.planning.result import Cost, cost_of

#: Jobs times printers up to which Python alone makes a first plan within a few seconds.
SMALL = 25_000
#: Jobs times printers from which a plan is improved in parts; see DEVELOPERS.md.
LARGE = 2_000_000
#: Seconds between two reports.
REPORT_S = 0.2
#: Seconds of work between two looks at the clock.
STEP_S = 0.05
#: A search shorter than this has no time for prices, seconds.
PRICES_S = 1.5
#: How a plan that replaces another is searched: from that one, and not far from it.
STEADY = Tuning(hot_h=0.3, tolls=0.0)


@dataclass(frozen=True)
class Progress:
    """How far the planner is.

    ``late_cost`` is that of the best plan so far, in late hours, ``lower_bound`` what none can go
    under; ``None`` before there is one.
    """

    seconds: float
    placed: int
    jobs: int
    late_cost: float | None
    doing: str
    lower_bound: float | None = None


def make_plan(
    scenario: Scenario,
    *,
    scenario_hash: str,
    made_at: datetime,
    seconds: float = 0.0,
    seed: int = 1,
    previous: Plan | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    timer: Callable[[], float] = time.monotonic,
    rounds: int | None = None,
    chains: int | None = None,
    stop: Callable[[], bool] = lambda: False,
    crew: Crew | None = None,
    in_parts: bool | None = None,
    aims: Mapping[str, datetime] | None = None,
) -> Plan:
    """Plan a scenario.

    Parameters
    ----------
    scenario_hash : str
        Written into the plan, so that it names what it is for.
    seconds : float
        Time to spend on more than the first plan, as ``timer`` counts it.
    previous : Plan or None
        A published plan that this one replaces: what is about to begin stays, moves cost.
    on_progress : callable or None
        Told now and then how far the work is.
    rounds : int or None
        Rounds of the compiled search instead of ``seconds``: the plan then follows from the
        scenario, the seed, the rounds and the chains alone. Its bound is then that of each job
        alone; the stronger one from prices needs ``seconds``.
    chains : int or None
        Searches side by side, one core each; as many as there are cores, two at most, if not given.
    stop : callable
        Asked now and then; True ends the search with the best plan so far.
    crew : Crew or None
        Who works on a large shop's parts; as many threads as ``chains`` if not given. Closed in the end.
    in_parts : bool or None
        Whether the plan is improved in parts; if not given, in shops that are `LARGE`.
    aims : mapping of str to datetime, or None
        By job, a date before its due date that the search strives for as if it were due then; what lies
        between is for what goes wrong. The plan's figures and its bound go by the due dates.

    Returns
    -------
    Plan
        A plan that keeps every rule of the contract.
    """
    began = timer()
    if on_progress is not None:
        on_progress(Progress(0.0, 0, len(scenario.jobs), None, "looking what fits where"))
    task = make_task(scenario, previous)
    base, aimed = Base(task, previous, steady=True), _aimed(task, aims or {})
    searched = base if aimed is task else Base(aimed, previous, steady=True)
    work = _Work(aimed, searched, began, timer, on_progress, stop)
    work.tell(0, "working out the bound", now=True)
    work.bound = bound_alone(task, base)
    size = task.problem.jobs * task.problem.printers
    small = size <= SMALL
    if in_parts is None:
        in_parts = size >= LARGE
    # A thread's luck would change the plan's bound, so none where the rounds alone decide.
    with Beside(base, work.note_bound, seconds if rounds is None else 0.0) as beside:
        work.beside = beside
        if in_parts:
            state = _in_parts(work, seconds, seed, rounds, chains, crew)
        elif is_built() or rounds is not None or not small:
            state = _compiled(work, seconds, seed, rounds, chains)
        else:
            state = _plain(work, seconds, seed, chains)
    draft = replace(finish(searched, state, compiled_kernels() if is_built() else None), task=task)
    return draft.plan(scenario_hash, made_at, timer() - began, seed, work.bound)


def _aimed(task: Task, aims: Mapping[str, datetime]) -> Task:
    """The task with jobs due when they are aimed at, where that is sooner."""
    P, site = task.problem, task.scenario.site
    dues = [
        min(due, site.minute(aims[job.id])) if job.id in aims else due
        for job, due in zip(task.scenario.jobs, P.j_due, strict=True)
    ]
    return task if dues == P.j_due else replace(task, problem=P._replace(j_due=dues))


@dataclass
class _Work:
    """One call of `make_plan`: what it works on and whom it tells."""

    task: Task
    base: Base
    began: float
    timer: Callable[[], float]
    on_progress: Callable[[Progress], None] | None
    asked_to_stop: Callable[[], bool]
    best: State | None = None
    best_cost: Cost | None = None
    bound: float | None = None
    least: float | None = None
    beside: Beside | None = None
    said: float = field(default=-1e9)

    def note_bound(self, late_hours: float) -> None:
        """Keep the better of two bounds."""
        self.bound = late_hours if self.bound is None else max(self.bound, late_hours)

    def own_prices(self, seconds: float, rounds: int | None) -> Prices | None:
        """Prices of machines' minutes for a search that no bound is worked out beside.

        Only where they take half a second: the demo's 110 jobs need as long as a short search has.
        """
        few = is_small(self.task.problem) and self.task.problem.jobs <= FEW_JOBS
        if self.beside is None or self.beside.thread is not None or not few:
            return None
        if rounds is None and seconds < PRICES_S:
            return None
        prices = Prices(Base(self.beside.task))
        prices.climb(self.asked_to_stop)
        if rounds is None:
            self.note_bound(prices.late_hours)
        return prices

    def spent(self) -> float:
        return self.timer() - self.began

    def tell(self, placed: int, doing: str, late_hours: float | None = None, now: bool = False) -> None:
        """Report, unless that was done a moment ago."""
        if self.on_progress is None or (not now and self.spent() - self.said < REPORT_S):
            return
        self.said = self.spent()
        if late_hours is None and self.best_cost is not None:
            late_hours = self.best_cost.late_hours
        if late_hours is not None:
            # The plan at hand may be worse than the best one, which is what counts.
            self.least = late_hours if self.least is None else min(self.least, late_hours)
        rounded = None if self.least is None else round(self.least, 3)
        self.on_progress(Progress(self.said, placed, self.task.problem.jobs, rounded, doing, self.bound))

    def keep_better(self, state: State | None) -> bool:
        """Note a state if it beats the best one."""
        if state is None:
            return False
        cost, move = cost_of(self.task, state), self.task.scenario.site.move_cost_h
        if self.best_cost is None or cost.value(move) < self.best_cost.value(move):
            self.best, self.best_cost = state, cost
            return True
        return False


def _plain(work: _Work, seconds: float, seed: int, chains: int | None) -> State:
    """First plans by Python alone; the compiled search goes on from the best as soon as it is there."""

    def over() -> bool:
        return work.spent() >= seconds or work.asked_to_stop()

    def halt(placed: int) -> bool:
        work.tell(placed, "placing jobs in order" if work.best is None else "trying another order")
        return work.best is not None and (over() or is_built())

    if seconds > 0:
        start_building()
    work.base.hurry(None)
    tried = orders(work.task) if work.base.previous is None else orders(work.task)[:1]
    work.tell(0, "placing jobs in order", now=True)
    for order, taste in tried:
        if work.best is None or not over():
            none_yet = work.best is None
            work.keep_better(construct(work.base, order, taste, halt))
            if none_yet and work.best is not None:
                work.tell(_placed(work.best), "trying another order", now=True)
    reorder(work.base, seed, work.keep_better, lambda: work.best, halt, lambda: not over() and not is_built())
    assert work.best is not None
    if over():
        return work.best
    first = work.best
    searched = _compiled(work, seconds, seed, None, chains)
    work.keep_better(searched)
    return work.best or first


def _first(work: _Work, engine: Engine, seconds: float, rounds: int | None) -> Pool:
    """The best plan of a few orders."""
    best = None
    tried = orders(work.task) if work.base.previous is None else orders(work.task)[:1]
    for order, taste in tried:
        if best is not None and rounds is None and work.spent() >= seconds / 4:
            break

        def halt(placed: int, have: bool = best is not None) -> bool:
            work.tell(placed, "trying another order" if have else "placing jobs in order")
            return have and work.asked_to_stop()

        pool = engine.construct(order, taste, halt)
        if pool is not None and (best is None or engine.cost(pool) < engine.cost(best)):
            best = pool
            placed, late_hours = engine.figures_of(pool)
            work.tell(placed, "trying another order", late_hours, now=True)
    assert best is not None
    return best


def _in_parts(
    work: _Work, seconds: float, seed: int, rounds: int | None, chains: int | None, crew: Crew | None
) -> State:
    """One plan of the whole shop, then better ones, part by part."""
    if not is_built():
        work.tell(0, "compiling the search, once on this machine", now=True)
    kernels = compiled_kernels()
    work.base.hurry(kernels)
    tuning = Tuning() if work.base.previous is None else STEADY
    engine = Engine(work.base, kernels, seed, 1, tuning)
    work.tell(0, "placing jobs in order", now=True)
    ground = ground_of(work.base, kernels)
    crew = crew or Threads(chains or min(2, os.cpu_count() or 1), kernels)
    try:
        # Processes start while the first plan is made.
        crew.begin(ground)
        first = rows_of_pool(_first(work, engine, seconds, rounds), ground.ways, ground.settled)
        epochs = Epochs(ground, kernels, engine, first, crew, seed)
        begun = work.spent()
        over: float
        then: float
        whole: float
        while not work.asked_to_stop():
            length, size = 0.0, max(1, epochs.crew.size)
            if rounds is not None:
                over, then = epochs.rounds, epochs.rounds + EPOCH_ROUNDS * size
                whole = max(1, rounds)
            else:
                over, whole = work.spent() - begun, max(1e-9, seconds - begun)
                length = min(EPOCH_S, whole - over)
                then = over + length
            if over >= whole or rounds == 0:
                break
            each = None if rounds is None else min(EPOCH_ROUNDS, -(-(rounds - epochs.rounds) // size))
            placed, late_hours = epochs.figures()
            work.tell(placed, "improving parts of the shop", late_hours)

            def give_up(placed: int = placed, late_hours: float = late_hours) -> bool:
                work.tell(placed, "improving parts of the shop", late_hours)
                return work.asked_to_stop()

            epochs.run(over / whole, then / whole, length, each, give_up)
    finally:
        crew.close()
    return epochs.state(work.base.state())


def _compiled(work: _Work, seconds: float, seed: int, rounds: int | None, chains: int | None) -> State:
    """Plans by the compiled kernels."""
    if not is_built():
        work.tell(0, "compiling the search, once on this machine", now=True)
    cores = chains or min(2, os.cpu_count() or 1)
    tuning = Tuning() if work.base.previous is None else STEADY
    kernels = compiled_kernels()
    work.base.hurry(kernels)
    engine = Engine(work.base, kernels, seed, cores, tuning)
    if work.base.previous is None and work.task.problem.jobs <= FEW_JOBS:
        engine = Ladder(work.base, kernels, seed, cores, FEW, FEW_JOURNAL)
    work.tell(0, "placing jobs in order", now=True)

    def over() -> bool:
        if work.asked_to_stop():
            return True
        return engine.rounds >= rounds if rounds is not None else work.spent() >= seconds

    def part() -> float:
        if rounds is not None:
            return engine.rounds / max(1, rounds)
        return (work.spent() - begun) / max(1e-9, seconds - begun)

    engine.begin(_first(work, engine, seconds, rounds))
    begun = work.spent()
    if engine.tuning.tolls > 0.0:
        engine.heed(work.own_prices(seconds, rounds))
    step = max(1, (rounds or 0) // (200 * cores)) if rounds is not None else 4
    while not over():
        if engine.tuning.tolls > 0.0 and work.beside is not None:
            engine.heed(work.beside.prices)
        before = work.spent()
        engine.step(part(), step)
        if rounds is None:
            took = max(1e-4, work.spent() - before)
            step = max(1, min(4 * step, int(step * STEP_S / took)))
        placed, late_hours = engine.figures()
        work.tell(placed, "moving jobs about", late_hours)
    return engine.best_state()


def _placed(state: State) -> int:
    """Jobs that have a place."""
    return sum(printer >= 0 for printer in state.printer)
