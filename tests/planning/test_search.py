"""What the search cuts out and puts back."""

from __future__ import annotations

from scheduler.planning.compiled import plain_kernels
from scheduler.planning.construct import Base
from scheduler.planning.engine import Engine, ready_state
from scheduler.planning.kernel.choose import place_best
from scheduler.planning.kernel.search import WANTED, cut_for_lost, line_up
from scheduler.planning.kernel.tables import MISSING
from scheduler.planning.problem import make_task
from tests.builders import a_feed, a_job, a_scenario, a_spool


def test_a_job_without_a_place_is_given_the_spool_that_another_has() -> None:
    jobs = [a_job("J1", feeds=(a_feed(grams=600.0),))]
    jobs += [a_job(f"J{n}", feeds=(a_feed(grams=300.0),)) for n in (2, 3, 4)]
    shop = a_scenario(jobs=tuple(jobs), spools=(a_spool(grams=900.0),))
    base = Base(make_task(shop))
    P, S = base.task.problem, ready_state(base)
    tune = Engine(base, plain_kernels(), 1).tune()
    S.tune[: len(tune)] = tune
    S.dice[:2] = [1, 12345]
    for j in (0, 1):
        assert place_best(P, S, j, [0.05, 0.02, 0.01, 0.02, 0.5], 9, 1, 0) == 1
    assert S.total[MISSING] > 0
    n = cut_for_lost(P, S)
    # Who holds the spool is out, and the job is lined up with them.
    assert n == 2 and S.printer[0] == S.printer[1] == -1
    wanted = S.t[WANTED]
    assert wanted in (2, 3) and wanted in S.order[: line_up(P, S, n)]
