"""A shop improved in parts: what may not move stays, what comes back stands, nothing stale wins."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model import Plan, Scenario
from scheduler.model.codec import scenario_hash
from scheduler.planning import make_plan
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.construct import Base
from scheduler.planning.engine import Engine
from scheduler.planning.orders import orders
from scheduler.planning.parts.crew import Crew
from scheduler.planning.parts.draw import Draw, draw
from scheduler.planning.parts.ground import Ground, ground_of
from scheduler.planning.parts.merge import Merger
from scheduler.planning.parts.part import Answer, Errand
from scheduler.planning.parts.processes import Processes
from scheduler.planning.parts.rows import Rows, rows_of_pool
from scheduler.planning.parts.work import Bench
from scheduler.planning.problem import make_task
from tests.planning.random_shops import random_shop

#: A few machines a part, so that small shops have several.
FEW = Draw(printers=4)
ROUNDS = 400


@cache
def shop(name: str) -> Scenario:
    return random_shop(int(name)) if name.isdigit() else generate(name[:-1], int(name[-1]))


@cache
def begun(name: str) -> tuple[Ground, Rows, Engine]:
    """A shop's ground, its first plan, and an engine."""
    kernels, base = compiled_kernels(), Base(make_task(shop(name)))
    engine = Engine(base, kernels, 1, 1)
    order, taste = orders(base.task)[0]
    pool = engine.construct(order, taste, lambda placed: False)
    assert pool is not None
    ground = ground_of(base, kernels)
    return ground, rows_of_pool(pool, ground.ways, ground.settled), engine


def errands(name: str, rows: Rows, seed: int, rounds: int = ROUNDS) -> list[Errand]:
    ground, _, engine = begun(name)
    heat = engine.heat(0.5)
    return [
        Errand(
            n, ground.name, rows.name, rows.packed(), part, seed + n, heat, heat, 0.0, rounds, engine.tune()
        )
        for n, part in enumerate(draw(ground, rows, FEW, 2, [seed]))
    ]


def planned(scenario: Scenario, crew: Crew | None = None, **options: object) -> Plan:
    return make_plan(
        scenario,
        scenario_hash=scenario_hash(scenario),
        made_at=scenario.site.plan_start,
        in_parts=True,
        crew=crew,
        **options,  # type: ignore[arg-type]  # any of make_plan's own
    )


NAMES = ["S1", "S2", "M1", *(str(seed) for seed in range(60, 68))]


@pytest.mark.parametrize("name", NAMES)
def test_rows_put_back_are_the_plan_again(name: str) -> None:
    ground, rows, _ = begun(name)
    bench = Bench(ground, compiled_kernels())
    again = rows_of_pool(bench.laid_out(rows), ground.ways, ground.settled)
    third = rows_of_pool(bench.laid_out(again), ground.ways, ground.settled)
    assert not len(third.changed_from(again))
    assert not len(Rows.unpacked(rows.packed()).changed_from(rows))
    # A first plan comes back to the minute, but for what leans on a pinned job's neighbours.
    assert len(again.changed_from(rows)) <= len(rows.whole) // 20


@pytest.mark.parametrize("name", NAMES)
def test_parts_have_nothing_in_common(name: str) -> None:
    ground, rows, _ = begun(name)
    parts = draw(ground, rows, FEW, 3, [5])
    # A small random shop may have nothing that is free to move.
    assert parts or name.isdigit()
    for what in ("printers", "spools", "machines"):
        marks = [getattr(part, what).astype(int) for part in parts]
        assert not marks or not len(marks[0]) or sum(marks).max() <= 1
    jobs = [job for part in parts for job in part.jobs.tolist()]
    assert len(set(jobs)) == len(jobs)
    for part in parts:
        placed = part.jobs[rows.whole[part.jobs, 0] >= 0]
        assert part.printers[rows.whole[placed, 1]].all()
        assert not ground.settled.jobs[part.jobs].any()


@pytest.mark.parametrize("name", NAMES)
def test_only_jobs_of_the_part_move_and_only_within_it(name: str) -> None:
    ground, rows, _ = begun(name)
    bench = Bench(ground, compiled_kernels())
    rows = rows_of_pool(bench.laid_out(rows), ground.ways, ground.settled)
    for errand in errands(name, rows, 3):
        answer, part = bench.improve(errand), errand.part
        others = ~np.isin(answer.jobs, part.jobs)
        before, after = rows.whole[answer.jobs], answer.whole
        # Others stay on their machine, their first layer where it was; a changeover may fit a new neighbour.
        assert (before[others, 1] == after[others, 1]).all()
        assert (before[others, 8] == after[others, 8]).all()
        moved = after[~others & (after[:, 0] >= 0)]
        assert part.printers[moved[:, 1]].all()
        assert answer.gain >= 0.0


@pytest.mark.parametrize("name", ["S1", "M1", "61", "64"])
def test_parts_together_win_what_each_has_won(name: str) -> None:
    ground, rows, _ = begun(name)
    merger = Merger(ground, compiled_kernels(), rows)
    bench, before = Bench(ground, compiled_kernels()), merger.cost
    answers = [bench.improve(errand) for errand in errands(name, merger.rows, 8)]
    merger.take(answers)
    won = sum(answer.gain for answer in answers)
    assert merger.cost == pytest.approx(before - won, abs=1e-3 + 0.02 * won)
    assert merger.mended == 0


def test_late_answer_counts_only_while_its_jobs_stand_as_they_stood() -> None:
    ground, rows, _ = begun("M1")
    merger = Merger(ground, compiled_kernels(), rows)
    bench = Bench(ground, compiled_kernels())
    first, second = (bench.improve(errand) for errand in errands("M1", merger.rows, 8)[:2])
    assert len(first.jobs) and len(second.jobs)
    old = merger.rows
    assert merger.take([first])
    # The other part's answer comes late, to a plan that has changed elsewhere: it still counts.
    cost = merger.cost
    assert merger.take([second]) and merger.late == 1
    assert merger.cost < cost
    # The same once more, and the first one in another guise: their jobs have moved since.
    moved = merger.rows
    again = [second, replace(first, gain=1e9)]
    assert not merger.take(again) and merger.stale == 2
    # One to a plan that nobody knows is not taken either.
    assert not merger.take([replace(first, base="0" * 32)]) and merger.stale == 3
    assert merger.rows is moved and merger.rows is not old


def test_answers_that_clash_are_mended_or_dropped() -> None:
    ground, rows, _ = begun("M1")
    merger = Merger(ground, compiled_kernels(), rows)
    bench = Bench(ground, compiled_kernels())
    (one,) = errands("M1", merger.rows, 8)[:1]
    # Two workers were wrongly given the same part: what both want, only one can have.
    answers = [bench.improve(replace(one, number=n, seed=90 + n)) for n in range(2)]
    cost = merger.cost
    merger.take(answers)
    assert merger.cost <= cost
    pool = merger.pool()
    assert not len(rows_of_pool(pool, ground.ways, ground.settled).changed_from(merger.rows))


@pytest.mark.parametrize("name", ["S1", "M1", *(str(seed) for seed in range(60, 72))])
def test_plan_made_in_parts_keeps_every_rule(name: str) -> None:
    scenario = shop(name)
    plan = planned(scenario, rounds=4 * ROUNDS, chains=2)
    assert not check(scenario, plan, scenario_hash(scenario))
    assert plan.late_cost <= planned(scenario, rounds=0, chains=2).late_cost + 1e-6


def test_same_rounds_give_the_same_plan_by_threads_and_by_processes() -> None:
    scenario = shop("S2")
    plans = [planned(scenario, crew, rounds=12_000, chains=2) for crew in (None, None, Processes(2))]
    assert replace(plans[0], seconds=0.0) == replace(plans[1], seconds=0.0)
    assert replace(plans[0], seconds=0.0) == replace(plans[2], seconds=0.0)


def test_a_plan_that_replaces_another_is_improved_in_parts_too() -> None:
    scenario = shop("S1")
    first = planned(scenario, rounds=0, chains=1)
    plan = planned(scenario, rounds=2 * ROUNDS, chains=2, previous=first)
    assert not check(scenario, plan, scenario_hash(scenario))


class Watched(Processes):
    """Tells what its errands are at."""

    def __init__(self, size: int) -> None:
        super().__init__(size)
        self.calls = 0

    def work(self, errands: list[Errand], wait_s: float | None, give_up: Callable[[], bool]) -> list[Answer]:
        self.calls += 1
        return super().work(errands, wait_s, give_up)


def test_killed_worker_changes_nothing_in_the_plan() -> None:
    scenario = shop("S2")
    sound = planned(scenario, rounds=12_000, chains=2)
    crew = Watched(2)
    killed: list[int] = []

    def kill_one() -> None:
        while crew.calls < 1 or not any(worker.errand is not None for worker in crew._workers):
            time.sleep(0.005)
        victim = next(worker for worker in crew._workers if worker.errand is not None)
        os.kill(victim.process.pid, signal.SIGKILL)
        killed.append(victim.process.pid)

    killer = threading.Thread(target=kill_one)
    killer.start()
    plan = planned(scenario, crew, rounds=12_000, chains=2)
    killer.join()
    assert killed
    assert not check(scenario, plan, scenario_hash(scenario))
    assert replace(plan, seconds=0.0) == replace(sound, seconds=0.0)


def test_run_goes_on_when_every_worker_keeps_dying() -> None:
    scenario = shop("S1")

    class Doomed(Processes):
        def work(
            self, errands: list[Errand], wait_s: float | None, give_up: Callable[[], bool]
        ) -> list[Answer]:
            self._spares = 0
            for pid in self.pids:
                os.kill(pid, signal.SIGKILL)
            return super().work(errands, wait_s, give_up)

    plan = planned(scenario, Doomed(2), rounds=3 * ROUNDS)
    assert not check(scenario, plan, scenario_hash(scenario))


def test_delayed_worker_is_not_waited_for_and_its_answer_found_later() -> None:
    ground, rows, _ = begun("S1")
    merger = Merger(ground, compiled_kernels(), rows)
    crew = Processes(2)
    crew.begin(ground)
    try:
        quick, slow = errands("S1", merger.rows, 4)[:2]
        while not all(worker.ready for worker in crew._workers):
            crew.work([], 0.2, lambda: False)
            for worker in crew._workers:
                if worker.pipe.poll(0.2):
                    crew._heard(worker)
        os.kill(crew._workers[1].process.pid, signal.SIGSTOP)
        timed = [replace(errand, rounds=None, seconds=0.3) for errand in (quick, slow)]
        began = time.monotonic()
        answers = crew.work(timed, 3.0, lambda: False)
        assert [answer.number for answer in answers] == [quick.number]
        assert time.monotonic() - began < 30.0
        os.kill(crew._workers[1].process.pid, signal.SIGCONT)
        later = crew.work([replace(timed[0], number=7, seconds=2.0)], 60.0, lambda: False)
        assert {answer.number for answer in later} >= {7}
        if slow.number not in {answer.number for answer in later}:
            later = crew.work([replace(timed[0], number=8, seconds=2.0)], 60.0, lambda: False)
        assert slow.number in {answer.number for answer in later}
    finally:
        crew.close()


def test_workers_see_the_whole_shop_again_in_the_next_errand() -> None:
    ground, rows, _ = begun("S2")
    bench = Bench(ground, compiled_kernels())
    first = bench.improve(errands("S2", rows, 3)[0])
    bench.improve(errands("S2", rows, 11)[-1])
    again = bench.improve(errands("S2", rows, 3)[0])
    assert (first.jobs == again.jobs).all() and (first.whole == again.whole).all()
    assert Ground.unpacked(ground.packed).name == ground.name


def test_spools_are_exchanged_for_jobs_that_found_none() -> None:
    ground, rows, _ = begun("L1")
    merger = Merger(ground, compiled_kernels(), rows)

    def without() -> set[int]:
        return set(np.flatnonzero((merger.rows.whole[:, 0] < 0) & ~ground.settled.jobs).tolist())

    before, cost = without(), merger.cost
    assert merger.make_room()
    # Who gave up a spool has another place; nobody lost one.
    assert without() < before and merger.cost < cost
