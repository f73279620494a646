"""What the search leaves out because it can't matter: it must not matter."""

from __future__ import annotations

import linecache
import random
import sys
from types import ModuleType

import pytest

from demo_fleet import generate
from scheduler.model import Scenario
from scheduler.planning.compiled import journal, plain_kernels
from scheduler.planning.compiled.translate import CantTranslate, translate
from scheduler.planning.construct import Base, Taste
from scheduler.planning.engine import Engine, ready_state
from scheduler.planning.kernel import bake, choose, place, score, search, timing
from scheduler.planning.kernel.heat import chamber_at, heat_from, preheat_need
from scheduler.planning.kernel.tables import NEVER, Problem, State
from scheduler.planning.orders import orders
from scheduler.planning.problem import make_task
from tests.planning.random_shops import random_shop

SHOPS = [f"S{seed}" for seed in (3, 4, 7)] + [str(seed) for seed in (9, *range(60, 68))]
SLOT = 16
WEIGHTS = [0.04, 0.02, 0.01, 0.02, 0.5]


def shop_of(name: str) -> Scenario:
    return generate("S", int(name[1:])) if name[0] == "S" else random_shop(int(name), able=True)


def half_planned(name: str) -> tuple[Problem, State, list[int]]:
    """A shop with the first half of its jobs placed, and those that are left."""
    task = make_task(shop_of(name))
    P, S = task.problem, ready_state(Base(task))
    order, _ = orders(task)[0]
    weights = Taste().weights()
    S.weights[: len(weights)] = weights
    free = [j for j in order if S.printer[j] < 0 and S.fixed[j] == 0]
    free = [j for j in free if P.fit_off[P.j_fit[j]] < P.fit_off[P.j_fit[j] + 1]]
    for j in free[: len(free) // 2]:
        choose.place_best(P, S, j, WEIGHTS, 99, 1, 0)
    return P, S, free[len(free) // 2 :]


def no_later(P: Problem, p: int, recipe: int, from_c: float, floor: int, begin: int) -> int:
    """`heat_from`, minute by minute."""
    for heat in range(begin - P.p_bed_heat[p] - P.r_soak[recipe], floor - 1, -1):
        if begin - heat >= preheat_need(P, p, recipe, chamber_at(P, p, from_c, 0, heat)):
            return heat
    return -1


@pytest.mark.parametrize("name", SHOPS)
def test_a_preheat_begins_late_and_not_too_late(name: str) -> None:
    P, _, _ = half_planned(name)
    rng = random.Random(name)
    found = 0
    for _ in range(400):
        p, recipe = rng.randrange(P.printers), P.j_recipe[rng.randrange(P.jobs)]
        hottest = P.p_reach_c[p] if P.p_heated[p] else P.ambient_c + 1.0
        from_c = P.ambient_c + rng.uniform(-0.1, 0.9) * (hottest - P.ambient_c)
        if P.k_set_c[recipe * P.printer_kinds + P.p_kind[p]] >= hottest:
            continue
        floor = rng.randrange(0, 600)
        begin = floor + rng.randrange(0, 300)
        heat = heat_from(P, p, recipe, from_c, 0, floor, begin)
        latest = no_later(P, p, recipe, from_c, floor, begin)
        assert (heat < 0) == (latest < 0) and heat <= latest
        if heat >= 0:
            assert begin - heat >= preheat_need(P, p, recipe, chamber_at(P, p, from_c, 0, heat))
            assert from_c > P.r_highest_c[recipe] or latest - heat <= 30
            found += 1
    assert found > 50


@pytest.mark.parametrize("name", SHOPS)
def test_no_job_is_less_late_than_beside_the_plan_at_hand(name: str) -> None:
    P, S, left = half_planned(name)
    for j in left:
        least = score.late_least(P, S, j)
        assert least >= S.alone[j]
        if choose.place_best(P, S, j, WEIGHTS, 99, 1, 0) == 1:
            assert place.late_weight(P, S, j) >= least - 1e-9


@pytest.mark.parametrize("name", SHOPS)
def test_cut_jobs_are_never_less_late_than_what_ends_a_round_soon(name: str) -> None:
    P, S, left = half_planned(name)
    for j in left:
        choose.place_best(P, S, j, WEIGHTS, 99, 1, 0)
    S.tune[:] = Engine(Base(make_task(shop_of(name))), plain_kernels(), 1).tune()
    S.dice[:2] = [1, 12345]
    seen = 0
    for _ in range(150):
        n = search.cut_some(P, S)
        if n <= 0:
            continue
        n = search.line_up(P, S, n)
        least = [score.late_least(P, S, S.order[k]) for k in range(n)]
        search.new_taste(S)
        for j, late in zip(S.order[:n], least, strict=True):
            if choose.place_best(P, S, j, S.weights, 24, 1, 0) == 1:
                assert place.late_weight(P, S, j) >= late - 1e-6
                seen += late > S.alone[j]
    assert seen or name[0] != "S"


@pytest.mark.parametrize("name", SHOPS)
def test_the_last_minute_of_use_is_the_last(name: str) -> None:
    P, _, left = half_planned(name)
    rng = random.Random(name)
    for j in left:
        late = rng.uniform(0.0, 4000.0)
        by = score.last_unload(P, j, late)
        if by >= NEVER:
            assert P.j_weight[j] <= 0.0 or P.j_due[j] >= NEVER
            continue
        bake_min = P.an_min[P.j_anneal[j]] if P.j_anneal[j] >= 0 else 0
        over = [P.j_weight[j] * (by + k + bake_min + P.j_finish[j] - P.j_due[j]) for k in (0, 1)]
        assert over[0] <= late + 0.01 < over[1] + 0.02
        assert score.last_unload(P, j, -1.0) == 0


@pytest.mark.parametrize("name", SHOPS)
def test_a_place_within_the_minutes_of_use_is_the_same_place(name: str) -> None:
    P, S, left = half_planned(name)
    seen = 0
    for j in left:
        if choose.shortlist(P, S, j, 0, WEIGHTS) == 0 or P.j_feeds[j] == 2:
            continue
        n0 = choose.shortlist(P, S, j, 0, WEIGHTS)
        S.t[choose.REFUSED] = 0
        if choose.choose_place(P, S, j, WEIGHTS, 99, 1, n0, 1) == 0:
            continue
        at = choose.C_PRINTER
        best = S.t[at : choose.C_LIMIT + 1]
        if choose.commit_choice(P, S, j) == 0:
            continue
        ends = S.unload_end[j]
        place.remove(P, S, j)
        S.t[choose.UNTIL] = ends + 1
        assert choose.choose_place(P, S, j, WEIGHTS, 99, 1, n0, 1) == 1
        assert S.t[at : choose.C_LIMIT + 1] == best
        # One minute less, and it must be another place, or none.
        S.t[choose.UNTIL] = ends
        if choose.choose_place(P, S, j, WEIGHTS, 99, 1, n0, 1) == 1 and choose.commit_choice(P, S, j) == 1:
            assert S.unload_end[j] < ends
            place.remove(P, S, j)
        S.t[choose.UNTIL] = 0
        assert choose.place_best(P, S, j, WEIGHTS, 99, 1, 0) == 1 and S.unload_end[j] == ends
        seen += 1
    assert seen or name[0] != "S"


@pytest.mark.parametrize("name", SHOPS)
def test_runs_that_are_remembered_are_those_that_would_be_found(name: str) -> None:
    P, S, _ = half_planned(name)
    rng = random.Random(name)
    annealed = [j for j in range(P.jobs) if P.j_anneal[j] >= 0]
    classes = sorted({P.s_dry_first[s] for s in range(len(P.s_lot)) if P.s_needs_drying[s]})
    for _ in range(20):
        S.t[bake.MEMO_ON], S.t[bake.MEMO_N], S.t[bake.BAKED_N] = 1, 0, 0
        program = P.j_anneal[rng.choice(annealed)] if annealed else -1
        for _ in range(12):
            ready = rng.randrange(0, 3000)
            if program >= 0:
                had = bake.find_anneal_again(P, S, program, ready, SLOT), S.t[SLOT : SLOT + 5]
                no_sooner = bake.anneal_no_sooner(S, ready)
                assert had == (bake.find_anneal(P, S, program, ready, SLOT), S.t[SLOT : SLOT + 5])
                assert not had[0] or no_sooner <= S.t[SLOT + 3]
            if classes:
                dry, end = rng.choice(classes), rng.choice([0, 0, ready + rng.randrange(0, 2000)])
                found = bake.find_drying_again(P, S, dry, ready, end, SLOT, NEVER)
                ends = S.t[SLOT + 3]
                known = bake.dried_by(S, dry, ready), bake.dried_no_sooner(S, dry, ready)
                assert found == bake.find_drying(P, S, dry, ready, end, SLOT, NEVER)
                assert not found or ends == S.t[SLOT + 3]
                alone = bake.find_drying(P, S, dry, ready, 0, SLOT, NEVER)
                soonest = S.t[SLOT + 3] if alone else NEVER
                assert known[0] in (soonest, NEVER) and known[1] <= soonest
    S.t[bake.MEMO_ON] = 0


@pytest.mark.parametrize("name", SHOPS)
def test_spools_that_nobody_waits_for_make_no_difference(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    P, S, left = half_planned(name)
    skipped: list[int] = []
    like = choose.is_like

    def note(*arguments: object) -> int:
        skipped.append(like(*arguments))  # type: ignore[arg-type]  # as they came
        return skipped[-1]

    for j in left:
        n0 = choose.shortlist(P, S, j, 0, WEIGHTS)
        n1 = choose.shortlist(P, S, j, 1, WEIGHTS) if P.j_feeds[j] == 2 else 1
        if n0 == 0 or n1 == 0:
            continue
        S.t[choose.REFUSED] = 0
        with monkeypatch.context() as patch:
            patch.setattr(choose, "is_like", note)
            found = choose.choose_place(P, S, j, WEIGHTS, 99, 1, n0, n1)
            best = S.t[choose.C_PRINTER : choose.C_LIMIT + 1]
            patch.setattr(choose, "is_like", lambda *arguments: 0)
            assert found == choose.choose_place(P, S, j, WEIGHTS, 99, 1, n0, n1)
        if found:
            assert best == S.t[choose.C_PRINTER : choose.C_LIMIT + 1]
            choose.commit_choice(P, S, j)
    if name == "S7":
        assert sum(skipped) > 20


def test_a_name_stands_for_one_thing_in_all_kernels() -> None:
    assert "ROUGH = 150" in translate([timing, _with_source("ROUGH = 150\n")], journal, ())
    with pytest.raises(CantTranslate, match="different things by ROUGH"):
        translate([timing, _with_source("ROUGH = 7\n")], journal, ())


def _with_source(text: str) -> ModuleType:
    """A module of which `inspect.getsource` tells this text."""
    module = ModuleType("kernel_of_a_test")
    module.__file__ = f"<kernel of a test {text!r}>"
    linecache.cache[module.__file__] = (len(text), None, text.splitlines(True), module.__file__)
    sys.modules[module.__name__] = module
    return module
