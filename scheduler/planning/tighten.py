"""A new job's place made earlier by moving others, none beyond its promise."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from scheduler.model import Plan
from scheduler.planning.compiled import compiled_kernels, is_built
from scheduler.planning.construct import Base, Taste, finish
from scheduler.planning.engine import Engine, Tuning
from scheduler.planning.insert import Insertion, standing
from scheduler.planning.orders import orders
from scheduler.planning.problem import make_task

#: A promise weighs so much more than an hour of the new jobs that it is not given up for many of them.
PROMISE_WEIGHT = 40.0
#: Others are moved only for so much, minutes.
WORTH_MIN = 30
#: Jobs times printers up to which this is a matter of a second.
SMALL = 25_000
#: From the plan at hand, and not far from it; chosen by trial on made-up shops of size S, where dates came
#: within 2 % of those that planning the whole shop anew for 4 s finds.
NEAR = Tuning(hot_h=0.1, cold_h=0.001)
ROUNDS = 12_000


def tighten(found: Insertion, rounds: int = ROUNDS, seed: int = 1) -> Insertion:
    """Look for an earlier date by the planner's own search, from the insertion on.

    Parameters
    ----------
    rounds : int
        Of the search; the result follows from the rounds and the seed.

    Returns
    -------
    Insertion
        The earlier one, all promises kept; ``found`` itself if there is none, if the shop is a large one,
        or if the compiled search is not there yet.
    """
    shop, promised = found.scenario, found.promised
    if not (found.whole and is_built()) or len(shop.jobs) * len(shop.printers) > SMALL:
        return found
    new, start = set(found.added), shop.site.plan_start
    jobs = tuple(
        replace(job, due=max(start, job.release), weight=1.0 / len(new))
        if job.id in new
        else replace(job, due=promised.get(job.id), weight=PROMISE_WEIGHT * max(1.0, job.weight))
        for job in shop.jobs
    )
    before = found.plan("", start)
    task = make_task(replace(shop, jobs=jobs), before)
    base = Base(task, before, steady=True)
    engine = Engine(base, compiled_kernels(), seed, 1, NEAR)
    pool = engine.construct(orders(task)[0][0], Taste(), lambda placed: False)
    assert pool is not None
    engine.begin(pool)
    while engine.rounds < rounds:
        engine.step(engine.rounds / rounds, max(1, rounds // 50))
    searched: Plan = finish(base, engine.best_state(), compiled_kernels()).plan("", start, 0.0, seed, None)
    better = standing(shop, searched, found.added, promised)
    if not better.whole or better.date > found.date - timedelta(minutes=WORTH_MIN):
        return found
    return better
