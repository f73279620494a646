"""Estimates put right: what is planned, and what chance is left around it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scheduler.planning import make_plan
from scheduler.quoting.applied import as_planned, planned_factors, planned_jobs, told, varied
from scheduler.quoting.ask import Ask, AskLine
from scheduler.quoting.forecast import forecast
from scheduler.quoting.learning import learn
from scheduler.quoting.variation import NONE, PrintLuck
from tests.builders import a_feed, a_job, a_material, a_printer, a_scenario, a_spool
from tests.quoting.test_learning import NOW, prints


def test_each_material_is_planned_by_its_own_prints_and_the_rest_by_the_shops() -> None:
    learning = learn(
        [
            *prints(100, 1.3, machine="P1", material="ABS"),
            *prints(100, 1.1, machine="P2", material="ABS", seed=2),
            *prints(100, 1.0, machine="P1", material="PC", seed=3),
        ],
        NOW,
    )
    factors = planned_factors(learning, ["ABS", "PC", "PEI"])
    assert factors["ABS"] == pytest.approx(1.2, abs=0.02)
    assert factors.get("PC", 1.0) == pytest.approx(1.0, abs=0.011)
    assert factors["PEI"] == round(learning.shop.luck.factor, 2)
    assert all(round(factor, 2) == factor for factor in factors.values())
    sentences = told({"ABS": 1.2, "PEI": 0.9}, learning)
    assert sentences == (
        "Prints of ABS are planned 20 % longer than estimated, as 200 of them did.",
        "Prints of PEI are planned 10 % shorter than estimated, as the shop's other prints did.",
    )


def test_few_prints_move_the_plan_little_and_right_ones_not_at_all() -> None:
    few = planned_factors(learn(prints(2, 1.5, machine="P1", material="ABS"), NOW), ["ABS"])
    many = planned_factors(learn(prints(200, 1.5, machine="P1", material="ABS"), NOW), ["ABS"])
    assert 1.0 < few["ABS"] < many["ABS"] - 0.05 < 1.5
    right = planned_factors(learn(prints(300, 1.0, machine="P1", material="ABS"), NOW), ["ABS"])
    assert abs(right.get("ABS", 1.0) - 1) < 0.015
    assert planned_factors(learn([], NOW), ["ABS"]) == {}


def test_only_the_print_time_of_a_request_is_planned_otherwise() -> None:
    line = AskLine("bracket", 3, "ABS", (40.0, 40.0, 30.0), 100.0, 60.0)
    other = replace(line, material="PC")
    found = as_planned(Ask((line, other)), {"ABS": 1.15})
    assert found.lines == (replace(line, print_min=pytest.approx(115.0)), other)


def test_a_plate_that_is_planned_longer_is_not_made_longer_twice() -> None:
    """Planned by the estimate and drawn by the factor, or planned by the factor: the same dates."""
    luck = PrintLuck(1.25, 0.1, 0.0, 0.0)
    finishes = []
    for minutes, planned in ((400, {}), (500, {"A": 1.25})):
        shop = a_scenario(
            materials=(a_material("ABS"), a_material("PC")),
            printers=(a_printer("P1", unattended=True),),
            spools=(a_spool("s1", grams=4000.0, dried=True),),
            jobs=(a_job("A", order="Q-1", print_min=minutes, feeds=(a_feed("ABS"),)),),
        )
        plan = make_plan(
            shop, scenario_hash="0" * 64, made_at=shop.site.plan_start, timer=lambda: 0.0, chains=1
        )
        variation = varied(replace(NONE, usual=luck), planned)
        finishes.append(forecast(shop, plan, variation, replications=80).finishes(["A"]))
    assert np.abs(finishes[0] - finishes[1]).max() <= 1
    assert finishes[0].max() > finishes[0].min()


def test_jobs_are_known_by_order_and_material() -> None:
    jobs = (
        a_job("A", order="Q-1", feeds=(a_feed("ABS"),)),
        a_job("B", order="Q-1", feeds=(a_feed("PC"),)),
        a_job("C", order="R-9", feeds=(a_feed("ABS"),)),
    )
    assert planned_jobs(jobs, {("Q-1", "ABS"): 1.15}) == {"A": 1.15}
