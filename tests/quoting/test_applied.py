"""Estimates put right: what is planned, and what chance is left around it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from scheduler.model import Progress, Step
from scheduler.quoting.applied import corrected
from scheduler.quoting.learning import learn
from scheduler.quoting.records import PrintRecord
from tests.builders import a_feed, a_job, a_printer, a_progress, a_scenario, at
from tests.quoting.test_learning import NOW, prints


def test_jobs_are_stretched_by_their_material_and_machines_keep_the_rest() -> None:
    records = [
        *prints(100, 1.3, machine="P1", material="ABS"),
        *prints(100, 1.1, machine="P2", material="ABS", seed=2),
        *prints(100, 1.0, machine="P1", material="PC", seed=3),
    ]
    learning = learn(records, NOW)
    scenario = a_scenario(
        printers=(a_printer("P1"), a_printer("P2")),
        jobs=(a_job("A", print_min=100), a_job("B", print_min=100, feeds=(a_feed("PC"),))),
    )
    found = corrected(scenario, learning)
    stretched, kept = found.scenario.jobs
    assert stretched.print_min == pytest.approx(120, abs=2)
    assert kept.print_min == pytest.approx(100, abs=1)
    # Stretched and then varied, a machine's prints take what its own records say.
    for machine, factor in (("P1", 1.3), ("P2", 1.1)):
        together = stretched.print_min / 100 * found.variation.luck(machine, "ABS").factor
        assert together == pytest.approx(factor, abs=0.02)


def test_a_print_under_way_gets_a_new_end_unless_its_end_was_told() -> None:
    learning = learn(prints(300, 1.2, machine="P1", material="ABS"), NOW)
    estimated = a_progress(-100, -96, -60, -55, 45)
    told = replace(estimated, steps=(*estimated.steps[:-1], Step("print", at(-55), at(60))))

    def ends(progress: Progress) -> object:
        scenario = a_scenario(jobs=(a_job("A", print_min=100, progress=progress),))
        progress_now = corrected(scenario, learning).scenario.jobs[0].progress
        assert progress_now is not None
        return progress_now.steps[-1].end

    assert ends(estimated) == pytest.approx(at(65), abs=timedelta(minutes=1))
    assert ends(told) == at(60)
    # By what was learnt it would be over; the books know better.
    quick = learn(prints(300, 0.5, machine="P1", material="ABS"), NOW)
    scenario = a_scenario(jobs=(a_job("A", print_min=100, progress=estimated),))
    assert corrected(scenario, quick).scenario.jobs == scenario.jobs


def test_nothing_learnt_changes_nothing() -> None:
    scenario = a_scenario()
    empty: list[PrintRecord] = []
    assert corrected(scenario, learn(empty, NOW)).scenario == scenario
